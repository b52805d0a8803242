"""certgen turns a roll-line alignment survey into a certificate that a plant can audit."""

__version__ = "0.1.0"
