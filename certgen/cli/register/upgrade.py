"""`certgen register upgrade`: a register of an earlier certgen in today's form."""

import click

from certgen.cli.io.messages import tell
from certgen.cli.register.where import mind_shares, named, register_option


@click.command(
    epilog="""\b
Example:
  certgen register upgrade --register certificates"""
)
@register_option()
def command(where: str | None) -> None:
    """Bring a register that an earlier certgen made to today's form, whole or not at all.

    Its entries stay as they are, and its head is the same. Earlier versions of certgen cannot read it any
    more: make a backup before, and upgrade certgen on every machine that uses it. Until then it can be read.
    """
    from certgen.register.database import upgraded
    from certgen.register.register import Register

    mind_shares()
    place = where or named()
    steps = upgraded(place)
    head = Register.open(place).head()
    done = (
        f"Brought to today's form in {len(steps)} step{'' if len(steps) == 1 else 's'}: {', '.join(steps)}."
    )
    tell(f"{done if steps else 'It is in the form of today already.'}")
    tell(f"head {head}")
