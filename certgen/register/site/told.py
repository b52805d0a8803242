"""What a line's record comes to: when it is due, and what its trend says, or why it says nothing."""

from dataclasses import dataclass
from datetime import date

from certgen.assessment.trend import trend
from certgen.assessment.trend_records import Trend
from certgen.certificate.wording import Wording
from certgen.engine.solution import solve_survey
from certgen.errors import CertgenError
from certgen.register.entry import SURVEY
from certgen.register.register import Register
from certgen.register.site.holdings import Line, Listed
from certgen.survey import accept, read_bytes
from certgen.survey.intervals import Every
from certgen.survey.survey import Survey


@dataclass(frozen=True)
class Told:
    """When the next survey of a line is due by the interval, and its trend, or `why` there is none."""

    due: date
    trend: Trend | None
    why: str = ""

    @property
    def sooner(self) -> date | None:
        """The day by which the trend says to survey next, where that is before the interval ends."""
        day = None if self.trend is None else self.trend.next_survey.day
        return None if day is None or day >= self.due else day


def told(register: Register, line: Line, interval: Every, wording: Wording) -> Told:
    """Return what is to be said of a line, its trend worked out anew from the surveys recorded."""
    due = interval.after(date.fromisoformat(line.latest.certificate.finished))
    if len(line.visits) < 2:
        return Told(due, None, wording.word("site_one_visit"))
    try:
        return Told(due, trend([solve_survey(_survey(register, one)) for one in line.visits]))
    except CertgenError as error:  # one line without an answer does not stop the others
        return Told(due, None, wording.word("site_no_trend", why=str(error)))


def _survey(register: Register, one: Listed) -> Survey:
    name = f"certificate {one.certificate.number}"
    return accept(name, read_bytes(name, register.file(one.sha256[SURVEY])))
