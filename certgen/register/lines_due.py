"""Lines that are to be surveyed again: the same days as the site tells, for the same reasons."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from certgen.register.chain import Head
from certgen.register.find import Wanted
from certgen.register.register import Register
from certgen.register.site.holdings import Line, holdings
from certgen.register.site.told import told
from certgen.survey.intervals import Every


@dataclass(frozen=True, slots=True)
class LineDue:
    """A line that is to be surveyed again, the certificate of its last survey, by when and because of what.

    `because` is "certificate" where its survey asks for that day, "trend" or "interval".
    """

    line: str
    asset: str
    customer: str
    number: str
    revision: int
    surveyed: str
    due: str
    because: str


def followed(register: Register, head: Head | None = None) -> tuple[Line, ...]:
    """Return the lines of a register, up to where it ended at `head`, which some certificate counts for.

    A line is one asset of one customer.
    """
    found = holdings(register, Wanted(), head or register.head()).lines
    return tuple(line for line in found if line.latest.counts)


def line_due(register: Register, line: Line, interval: Every) -> LineDue:
    """Return by when a line is to be surveyed again; its trend is worked out anew for that."""
    found, one = told(register, line, interval), line.latest.certificate
    named = (one.line, one.asset, one.customer, one.number, one.revision, one.finished)
    return LineDue(*named, due=f"{found.due}", because=found.because)


def in_order(found: Iterable[LineDue], on: date) -> list[LineDue]:
    """Return the lines that are due on that day or were due before, the longest overdue first."""
    return sorted((one for one in found if one.due <= f"{on}"), key=lambda one: (one.due, one.line))


def lines_due(register: Register, on: date, interval: Every) -> list[LineDue]:
    """Return the lines whose next survey is due on that day or was due before, the longest overdue first."""
    return in_order((line_due(register, line, interval) for line in followed(register)), on)
