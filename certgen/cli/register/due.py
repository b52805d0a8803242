"""`certgen register due`: lines to be surveyed again, and calibrations that ran out."""

from collections.abc import Generator, Sequence
from concurrent.futures.process import BrokenProcessPool
from contextlib import closing
from dataclasses import asdict, dataclass
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

import click

from certgen.cli.io.messages import as_json_text
from certgen.cli.io.processes import cores, interruption, pool, starting, waited
from certgen.cli.register.list import table
from certgen.cli.register.where import mind_shares, named, register, register_option
from certgen.errors import CannotCompute
from certgen.findings import escaped
from certgen.register.entries import Head
from certgen.register.register import Register
from certgen.register.site.holdings import LineDue, followed, line_due
from certgen.survey.quantities import Every

if TYPE_CHECKING:
    from certgen.register.due import RanOut
    from certgen.register.site.holdings import LineDue

_LINES = ("Due", "By", "Surveyed", "Line", "Asset", "Customer", "Certificate")
_INSTRUMENTS = (
    "Ran out",
    "Calibrated",
    "Instrument",
    "Serial",
    "Next calibration",
    "Certificates that relied on it",
)
_FEWEST = 8  # lines; for fewer of them another process would take longer to start than to work


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
    from certgen.register.due import calibrations_ran_out, every
    from certgen.register.site.holdings import in_order

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
        [
            *_plain(one.due, one.calibrated, one.kind, one.serial, one.renewed or "not known"),
            "\n".join(escaped(f"{number}, rev. {revision}") for number, revision in one.certificates),
        ]
        for one in ran_out
    ]
    first = f"Lines due for a survey on {day}: {len(surveys) or 'none'}"
    second = f"Calibrations that ran out before {day}: {len(calibrations) or 'none'}"
    return f"{table(first, _LINES, surveys)}\n\n{table(second, _INSTRUMENTS, calibrations)}"


def _plain(*cells: object) -> list[str]:
    return [escaped(f"{cell}") for cell in cells]


@dataclass(frozen=True, slots=True)
class Asked:
    """Which register, up to where it ended, and the interval from survey to survey."""

    where: str
    head: Head
    interval: Every


def every_line(asked: Asked, processes: int) -> list[LineDue]:
    """Return when every line is due; a bar on a terminal says how many are done."""
    from rich.console import Console
    from rich.progress import track

    work, console = _Work(asked), Console(stderr=True)
    with closing(_parts(asked, work, processes)) as coming:
        shown = track(
            coming, "Lines", work.count, console=console, transient=True, disable=not console.is_terminal
        )
        return list(shown)


def _parts(asked: Asked, work: "_Work", processes: int) -> Generator[LineDue, None, None]:
    if processes == 1 or work.count < _FEWEST:
        yield from map(work.line, range(work.count))
        return
    try:
        with interruption() as noted, pool(min(processes, work.count), _begin, asked) as shared:
            with starting():
                coming = [shared.submit(_line, number) for number in range(work.count)]
            for future in coming:
                yield waited(future, noted)
    except BrokenProcessPool:
        raise CannotCompute("a process that worked on the trends was ended from outside.") from None


class _Work:
    """The register opened, with its lines in order."""

    def __init__(self, asked: Asked) -> None:
        mind_shares()
        self._register, self._interval = Register.open(asked.where), asked.interval
        self._lines = followed(self._register, asked.head)

    @property
    def count(self) -> int:
        """How many lines there are."""
        return len(self._lines)

    def line(self, number: int) -> LineDue:
        """Return when a line is due."""
        return line_due(self._register, self._lines[number], self._interval)


_work: _Work | None = None  # of this process


def _begin(asked: Asked) -> None:
    global _work  # what a process of the pool begins with has no other place
    _work = _Work(asked)


def _line(number: int) -> LineDue:
    assert _work is not None  # noqa: S101  # the pool has begun
    return _work.line(number)
