"""The tables of a certificate for other programs."""
