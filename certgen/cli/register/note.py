"""`certgen register note`: an instrument that was found deviating, and the certificates that rely on it."""

from datetime import datetime

import click

from certgen.cli.register.where import checked_reason, now, reason_option, register, register_option, told

_DAY = click.DateTime(["%Y-%m-%d"])


@click.command(
    epilog="""\b
Example:
  certgen register note --instrument SL-0417 --since 2026-02-11 --reason "0.02 mm/m off, 27-1203\""""
)
@click.option("--instrument", required=True, metavar="SERIAL", help="Its serial number, in full.")
@click.option("--since", type=_DAY, metavar="DAY", help="Only work that ended on that day or later.")
@click.option("--until", type=_DAY, metavar="DAY", help="Only work that began on that day or earlier.")
@reason_option
@register_option()
def command(
    instrument: str, since: datetime | None, until: datetime | None, reason: str, where: str | None
) -> None:
    """Note that an instrument was found deviating, and name the certificates that rely on it.

    They stay as they are, and everything that shows them shows the note. Whether they are to be issued anew
    is for whoever answers for them to say.
    """
    from certgen.register.marks import Relying, note

    days = [None if day is None else f"{day:%Y-%m-%d}" for day in (since, until)]
    which, why = Relying(instrument, *days), checked_reason(reason)
    told(note(register(where), which, why, now()), f"relies on {instrument}, noted")
