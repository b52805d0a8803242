"""What a line's record comes to: by when to survey it next, what its trend says, or why nothing."""

from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

from certgen.assessment.trend import trend
from certgen.assessment.trend_records import Trend
from certgen.engine.solution import solve_survey
from certgen.errors import CertgenError
from certgen.register.entry import RESULTS, SURVEY
from certgen.register.register import Register
from certgen.register.site.holdings import Line, Listed
from certgen.register.visits import recorded_survey
from certgen.survey import accept, read_bytes
from certgen.survey.intervals import Every
from certgen.survey.survey import Survey

Because = Literal["certificate", "trend", "interval"]


@dataclass(frozen=True)
class Told:
    """By when to survey a line next, and because of what; its trend, or `why` there is none.

    `due` is the earliest of what the certificate of the latest visit asks for, what the trend says, and the
    interval; None where no certificate of the line counts. `why` is None where there are fewer than two.
    """

    due: date | None
    because: Because
    trend: Trend | None
    why: CertgenError | None = None

    def is_overdue(self, on: date) -> bool:
        """Return whether the line is to be surveyed on that day or was to be before."""
        return self.due is not None and self.due <= on


def told(register: Register, line: Line, interval: Every) -> Told:
    """Return what is to be said of a line, its trend worked out anew from the surveys recorded."""
    found, why = None, None
    try:
        found = _trend(register, line)
    except CertgenError as error:  # one line without an answer does not stop the others
        why = error
    if not line.latest.counts:
        return Told(None, "interval", found, why)
    days: dict[Because, date | None] = {
        "certificate": _asked_for(register, line.latest),
        "trend": None if found is None else found.next_survey.day,
        "interval": interval.after(date.fromisoformat(line.latest.certificate.finished)),
    }
    day, because = min((day, because) for because, day in days.items() if day is not None)
    return Told(day, because, found, why)


def _trend(register: Register, line: Line) -> Trend | None:
    if len(line.visits) < 2:
        return None
    return trend([solve_survey(_survey(register, one)) for one in line.visits])


def _asked_for(register: Register, one: Listed) -> date | None:
    """The day by which the survey of a certificate asks for the next one, None where it does not."""
    if not one.kept:
        return None
    try:
        visit: Any = _survey(register, one).visit
    except CertgenError:  # one that today's certgen refuses, or of a newer one
        return None
    stated = None if visit.interval is None else visit.interval.after(visit.finished)
    asked = getattr(getattr(visit, "next", None), "by", None)
    return min((day for day in (stated, asked) if day is not None), default=None)


def _survey(register: Register, one: Listed) -> Survey:
    """The survey of a certificate, read by the edition of the rules that its results record."""
    name = f"certificate {one.certificate.number}"
    files = register.files([one.sha256[SURVEY], one.sha256[RESULTS]])
    survey, edition = recorded_survey(files[one.sha256[SURVEY]], files[one.sha256[RESULTS]])
    return accept(name, read_bytes(name, survey, edition))
