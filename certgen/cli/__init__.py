"""The command line: one file per command, each loaded only when it is called."""

from certgen.cli.group import main

__all__ = ["main"]
