"""Recording a certificate at the moment it is issued."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from certgen.cli.register.where import named, now, register, register_option
from certgen.errors import AlreadyRegistered, WrongUsage

if TYPE_CHECKING:
    from certgen.register.register import Register

Keep = Callable[[Path, bytes], bytes]


def keep_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options by which a command records what it issues: `where` and `record`."""
    record = click.option("--record", is_flag=True, help="Record it in the register that is set up here.")
    return register_option("Record it in this register: a folder or postgresql://...")(record(function))


def keeper(where: str | None, record: bool) -> Keep:
    """Return what records a certificate and gives the bytes to write; does nothing where none was asked for.

    The register is opened here, so that one that cannot be reached is told before anything is computed.
    A certificate is recorded before its file is written: what was handed out is always in the register, and
    the same command run again after an interruption finds it there and writes the file.
    """
    if where is not None and record:
        raise WrongUsage(
            "--record means the register that is set up here, --register names one: pass either."
        )
    if where is None and not record:
        return lambda _target, pdf: pdf
    opened = register(where or named(), create=True)
    return lambda target, pdf: _kept(opened, target, pdf)


def _kept(opened: "Register", target: Path, pdf: bytes) -> bytes:
    from certgen.register.take import take

    held = take(str(target), pdf)
    try:
        added = opened.add(held, now())
    except AlreadyRegistered:
        recorded = opened.recorded(held.certificate)
        if not _same_but_for_the_day(recorded, pdf):
            raise
        click.echo("register: there already, signed before; that one is written", err=True)
        return recorded
    how = "entry" if added.new else "there already as entry"
    signs = "" if added.signs is None else f", the signed form of entry {added.signs}"
    click.echo(f"register: {how} {added.sequence}{signs}, head {added.head}", err=True)
    return pdf


def _same_but_for_the_day(recorded: bytes, pdf: bytes) -> bool:
    """Whether both are one certificate that was signed twice: a signature holds the time it was made."""
    from certgen.certificate.carried import carried

    one, other = carried(recorded), carried(pdf)
    return one.base == other.base and bool(one.appended) and bool(other.appended)
