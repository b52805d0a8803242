"""What the commands share that say something of certificates after they were recorded."""

from typing import TYPE_CHECKING

import click

from certgen.cli.made import tell
from certgen.errors import WrongUsage
from certgen.findings import escaped

if TYPE_CHECKING:
    from certgen.register.marks import Marked

_LONGEST = 1000
reason_option = click.option("--reason", required=True, help="Why; it stands in the entry for good.")
revision_option = click.option(
    "--revision", type=click.IntRange(0, 10**12), help="By default the latest one."
)


def checked_reason(text: str) -> str:
    """Return a reason in one line; WrongUsage where it says nothing or cannot be read."""
    plain = " ".join(text.split())
    if not plain:
        raise WrongUsage("--reason: say why; it stands in the entry for good.")
    if not plain.isprintable() or len(plain) > _LONGEST:
        raise WrongUsage(
            f"--reason: write one line of at most {_LONGEST} letters, without control characters."
        )
    return plain


def told(found: "Marked", what: str) -> None:
    """Say what was recorded of which certificates, and where the register ends now."""
    for one in found.certificates:
        click.echo(escaped(f"certificate {one['number']}, revision {one['revision']}: {what}"))
    tell(f"head {found.head}")
