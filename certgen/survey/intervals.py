"""Intervals between surveys, as a plant writes them: `12 months`, `90 days`, `26 weeks`, `2 years`."""

# ruff: noqa: ARG002  # every kind of value answers to the same protocol, and few use all of it

import re
from calendar import monthrange
from dataclasses import dataclass
from datetime import date, timedelta

from certgen.survey.figures import Wrong
from certgen.survey.leaf import Context, Json

_WRITTEN = r"([1-9]\d{0,3})\s*(day|week|month|year)s?"
_MONTHS = {"month": 1, "year": 12}
_DAYS = {"day": 1, "week": 7}
EXAMPLES = "12 months, 90 days, 26 weeks or 2 years"


@dataclass(frozen=True, slots=True)
class Every:
    """An interval: a count of months, or of days."""

    months: int = 0
    days: int = 0

    def after(self, day: date) -> date:
        """Return the day that lies so much later, the last one there is where the calendar ends before.

        The 31st becomes the last day of a shorter month.
        """
        month = day.month - 1 + self.months
        year, month = day.year + month // 12, month % 12 + 1
        if year > date.max.year:
            return date.max
        later = date(year, month, min(day.day, monthrange(year, month)[1]))
        return later + min(timedelta(days=self.days), date.max - later)


def interval(text: str) -> Every | None:
    """Return the interval that `text` states, None where it states none."""
    found = re.fullmatch(_WRITTEN, text.strip().lower(), re.ASCII)
    if found is None:
        return None
    count, unit = int(found[1]), found[2]
    return Every(months=count * _MONTHS.get(unit, 0), days=count * _DAYS.get(unit, 0))


@dataclass(frozen=True, slots=True)
class Interval:
    """The kind of value that is an interval."""

    def read(self, text: str, context: Context) -> Every:
        """Return the interval."""
        found = interval(text)
        if found is None:
            raise Wrong("this is not an interval of time", f"Write for example {EXAMPLES}.")
        return found

    def stand_in(self, number: int) -> Every:
        """Return a day."""
        return Every(days=1)

    def json(self) -> Json:
        """Return its JSON Schema."""
        return {"type": "string", "pattern": rf"^\s*{_WRITTEN}\s*$"}
