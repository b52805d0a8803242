"""Lets `python -m certgen` stand for the installed command."""

from certgen.cli import main

main()
