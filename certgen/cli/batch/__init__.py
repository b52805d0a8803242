"""`certgen batch`: a whole folder of surveys or certificates, on all cores."""

from certgen.cli.batch.run import command

__all__ = ["command"]
