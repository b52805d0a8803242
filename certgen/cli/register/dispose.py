"""`certgen register dispose`: certificates that were kept long enough."""

from datetime import datetime
from typing import Any

import click

from certgen.cli.register.where import checked_reason, now, reason_option, register, register_option, told
from certgen.errors import WrongUsage
from certgen.findings import escaped


@click.command(
    epilog="""\b
Examples:
  certgen register dispose FC-2014-007 --reason "kept for ten years"
  certgen register dispose --before 2016-01-01 --reason "kept for ten years"
  certgen register dispose --before 2016-01-01 --reason "kept for ten years" --yes"""
)
@click.argument("number", required=False)
@click.option("--revision", type=click.IntRange(0, 10**12), help="By default all of them.")
@click.option(
    "--before", type=click.DateTime(["%Y-%m-%d"]), metavar="DAY", help="All issued before that day."
)
@click.option("--yes", is_flag=True, help="With --before: remove them; else they are only listed.")
@reason_option
@register_option()
def command(number: str | None, reason: str, where: str | None, **which: Any) -> None:
    """Remove the bytes of certificates whose time of keeping is over: PDF, survey and results.

    What the entries say and the digests stay, so that the register can be audited as before, and a copy that
    somebody kept can still be told to be the one. There is no way back. Backups hold the bytes until they are
    removed as well; PostgreSQL gives them up with its next VACUUM. A certificate that was issued or recorded
    less than 365 days ago is refused.
    """
    from certgen.register.marks import certificates_of, dispose, issued_before

    revision: int | None = which["revision"]
    before: datetime | None = which["before"]
    if (number is None) == (before is None) or (revision is not None and number is None):
        raise WrongUsage("name a NUMBER, or with --before a day: all certificates issued before it.")
    if before is not None and f"{before:%Y-%m-%d}" > now()[:10]:
        raise WrongUsage(f"--before {before:%Y-%m-%d}: that day is still to come.")
    opened, why = register(where), checked_reason(reason)
    if number is not None:
        told(dispose(opened, certificates_of(opened, number, revision), why, now()), "disposed of")
        return
    found = issued_before(opened, f"{before:%Y-%m-%d}")
    if which["yes"] and found:
        told(dispose(opened, found, why, now()), "disposed of")
        return
    for one in found:
        click.echo(escaped(f"certificate {one['number']}, revision {one['revision']}: would be disposed of"))
    click.echo("Nothing was removed." + (" Pass --yes to remove them." if found else ""))
