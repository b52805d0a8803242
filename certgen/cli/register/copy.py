"""`certgen register copy`: a register in another place, which ends at the same head."""

import click

from certgen.cli.io.messages import tell
from certgen.cli.register.where import register


@click.command(
    epilog="""\b
Examples:
  certgen register copy certificates postgresql://certgen@archive.example/certificates
  certgen register copy postgresql://certgen@archive.example/certificates certificates"""
)
@click.argument("source", metavar="FROM")
@click.argument("target", metavar="TO")
def command(source: str, target: str) -> None:
    """Copy the register FROM to TO, each a folder or postgresql://...

    TO is a new folder, or a database without entries. Both are audited and end at the same head. From then on
    add to one of them only: two that were added to apart have different heads for good.
    """
    from certgen.register.copies import copied
    from certgen.register.database import shown

    head = copied(register(source), target)
    tell(f"Wrote {head.count} entr{'y' if head.count == 1 else 'ies'} into {shown(target)}.")
    tell(f"head {head}")
