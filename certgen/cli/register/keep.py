"""Recording a certificate at the moment it is issued."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from certgen.cli.register.where import named, now, register, register_option
from certgen.errors import CannotWrite

Keep = Callable[[Path, bytes], None]


def keep_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options by which a command records what it issues: `where` and `record`."""
    record = click.option("--record", is_flag=True, help="Record it in the register that is set up here.")
    return register_option("Record it in this register: a folder or postgresql://...")(record(function))


def keeper(where: str | None, record: bool) -> Keep:
    """Return what records a certificate, and does nothing where recording was not asked for.

    The register is opened here, so that one that cannot be reached is told before anything is computed.
    A certificate is recorded before its file is written: what was handed out is always in the register, and
    the same command run again after an interruption finds it there and writes the file.
    """
    if where is None and not record:
        return _nothing
    opened = register(where or named(), create=True)

    def keep(target: Path, pdf: bytes) -> None:
        from certgen.register.take import take

        if not target.parent.is_dir():
            raise CannotWrite(target, f"the folder {target.parent} does not exist.")
        added = opened.add(take(str(target), pdf), now())
        how = "entry" if added.new else "there already as entry"
        click.echo(f"register: {how} {added.sequence}, head {added.head}", err=True)

    return keep


def _nothing(_target: Path, _pdf: bytes) -> None:
    """Recording was not asked for."""
