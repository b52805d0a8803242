"""`certgen register due`: lines to be surveyed again, and calibrations that ran out."""

from collections.abc import Sequence
from dataclasses import asdict
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

import click

from certgen.cli.cores import cores
from certgen.cli.register.list import table
from certgen.cli.register.where import named, register, register_option
from certgen.cli.terminal import as_json_text
from certgen.findings import escaped

if TYPE_CHECKING:
    from certgen.register.due import RanOut
    from certgen.register.lines_due import LineDue

_LINES = ("Due", "By", "Surveyed", "Line", "Asset", "Customer", "Certificate")
_INSTRUMENTS = (
    "Ran out",
    "Calibrated",
    "Instrument",
    "Serial",
    "Next calibration",
    "Certificates that relied on it",
)


@click.command(
    epilog="""\b
Examples:
  certgen register due
  certgen register due --on 2027-03-31 --every "6 months" --json"""
)
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), metavar="DAY", help="By default today.")
@click.option("--every", "interval", default="12 months", show_default=True, help="From survey to survey.")
@click.option("--jobs", type=click.IntRange(1, 256), help="Processes; by default one for every core.")
@click.option("--json", "as_json", is_flag=True, help="Print it as JSON.")
@register_option()
def command(on: datetime | None, interval: str, jobs: int | None, as_json: bool, where: str | None) -> None:
    """Say which lines are due for a survey, and which calibrations ran out with certificates relying on them.

    A line is due on the earliest of three days: so long (--every) after the last day of work of its last
    survey; the day for which that survey asks (`interval` of the visit); and the day that the trend over all
    visits names. Those that are overdue longest stand first. A certificate that another one in the register
    replaces, by a later revision or by `supersedes`, or that was withdrawn, does not count. A calibration
    ran out where the register knows of no next one made in time: the certificates that relied on it are to be
    looked at again if the instrument is found to deviate.
    """
    from certgen.cli.register.due_parts import Asked, every_line
    from certgen.register.due import calibrations_ran_out, every
    from certgen.register.lines_due import in_order

    day, period = (on or datetime.now(UTC)).date(), every(interval)
    opened = register(where)
    ran_out = calibrations_ran_out(opened, day)
    asked = Asked(where or named(), opened.head(), period)
    lines = in_order(every_line(asked, jobs or cores()), day)
    click.echo(_as_json(day, lines, ran_out) if as_json else _in_words(day, lines, ran_out))


def _as_json(day: date, lines: "Sequence[LineDue]", ran_out: "Sequence[RanOut]") -> str:
    told = {
        "format": "certgen-due/1",
        "on": day.isoformat(),
        "lines": [asdict(one) for one in lines],
        "instruments": [_instrument(one) for one in ran_out],
    }
    return as_json_text(told)


def _instrument(one: "RanOut") -> dict[str, object]:
    relied = [{"number": number, "revision": revision} for number, revision in one.certificates]
    return {**asdict(one), "certificates": relied}


def _in_words(day: date, lines: "Sequence[LineDue]", ran_out: "Sequence[RanOut]") -> str:
    surveys = [
        _plain(
            one.due,
            one.because,
            one.surveyed,
            one.line,
            one.asset,
            one.customer,
            f"{one.number}, rev. {one.revision}",
        )
        for one in lines
    ]
    calibrations = [
        [*_plain(one.due, one.calibrated, one.kind, one.serial, one.renewed or "not known"), _relied(one)]
        for one in ran_out
    ]
    first = f"Lines due for a survey on {day}: {len(surveys) or 'none'}"
    second = f"Calibrations that ran out before {day}: {len(calibrations) or 'none'}"
    return f"{table(first, _LINES, surveys)}\n\n{table(second, _INSTRUMENTS, calibrations)}"


def _plain(*cells: object) -> list[str]:
    return [escaped(f"{cell}") for cell in cells]


def _relied(one: "RanOut") -> str:
    return "\n".join(escaped(f"{number}, rev. {revision}") for number, revision in one.certificates)
