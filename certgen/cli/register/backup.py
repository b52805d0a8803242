"""`certgen register backup`: a register as it is at one moment, in a new folder."""

from pathlib import Path

import click

from certgen.cli.io.messages import tell
from certgen.cli.register.where import register, register_option
from certgen.errors import WrongUsage


@click.command(
    epilog="""\b
Example:
  certgen register backup /media/disk2/register_2026-11-25"""
)
@click.argument("to", metavar="TO", type=click.Path(readable=False, path_type=Path))
@register_option()
def command(to: Path, where: str | None) -> None:
    """Copy the register as it is at this moment into the new folder TO, with its head in TO/head.txt.

    Others may go on adding. The copy is audited; it is a register in a folder itself, also of one in
    PostgreSQL: to use it, name it, or bring it back with `certgen register copy`.
    """
    from certgen.register.copies import copied
    from certgen.register.database import is_address

    if is_address(f"{to}") or "://" in f"{to}" or ":/" in f"{to}":
        raise WrongUsage(f"{to}: a backup is a folder. To fill a database, run: certgen register copy")
    head = copied(register(where), f"{to}", note_head=True)
    tell(f"Wrote {head.count} entr{'y' if head.count == 1 else 'ies'} into {to}.")
    tell(f"head {head}")
