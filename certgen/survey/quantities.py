"""The kinds of single value with a unit, calendar intervals among them: how each is read and described."""

import re
from calendar import monthrange
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from certgen.survey import spellings
from certgen.survey.number_text import Wrong, example
from certgen.survey.sections import Context, Json
from certgen.survey.spellings import Kind
from certgen.survey.units import Measure, measure

# ruff: noqa: ARG002  # every kind of value answers to the same protocol, and few use all of it


Sign = Literal["any", "not negative", "positive"]
SMALLEST = 1e-6  # in any base unit
Default = Literal["readings", "dimensions", "temperature"]
# ruff: noqa: ARG002  # every kind of value answers to the same protocol, and few use all of it


_WRITTEN = r"([1-9]\d{0,3})\s*(day|week|month|year)s?"
_MONTHS = {"month": 1, "year": 12}
_DAYS = {"day": 1, "week": 7}
EXAMPLES = "12 months, 90 days, 26 weeks or 2 years"


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with a unit of one of `kinds`; bare, it takes the unit `units:` gives for `default`.

    `at_most` bounds its size in the base unit: beyond it, the unit is more likely wrong than the machine.
    """

    kinds: tuple[Kind, ...]
    default: Default | None = None
    sign: Sign = "any"
    at_most: float | None = None
    bound: str = ""

    def read(self, text: str, context: Context) -> Measure:
        """Return the quantity in its base unit; divisions become a slope."""
        unit = context.units.get(self.default) if self.default else None
        found = _as_slope(measure(text, self.kinds, unit), context)
        if (self.sign == "positive" and found.value <= 0) or (
            self.sign == "not negative" and found.value < 0
        ):
            wanted = "above zero" if self.sign == "positive" else "zero or above"
            raise Wrong(f"this must be {wanted}", f"Write {example(self.kinds)}.")
        if self.sign == "positive" and found.value < SMALLEST:
            raise Wrong("this is too small to be real", "Check the number and its unit: has a unit slipped?")
        if self.at_most is not None and abs(found.value) > self.at_most:
            raise Wrong(f"this is over {self.bound}", "Check the number and its unit: has a unit slipped?")
        return found

    def stand_in(self, number: int) -> Measure:
        """Return a positive quantity that no other stand-in shares."""
        return Measure(float(number), self.kinds[0], "-")

    def json(self) -> Json:
        """Return its JSON Schema: text with a unit, or a bare number where `units:` may give the unit."""
        with_unit: Json = {"type": "string", "pattern": spellings.quantity(self.kinds)}
        if self.default is None:
            return with_unit
        bare: Json = {"type": "number"}
        if self.sign != "any":
            bare["minimum" if self.sign == "not negative" else "exclusiveMinimum"] = 0
        return {"anyOf": [bare, with_unit]}


def _as_slope(found: Measure, context: Context) -> Measure:
    if found.kind != "division":
        return found
    if context.division_mm_per_m is None:
        hint = "Give the level `sensitivity:` in `instruments:`, or write a slope such as 0.02 mm/m."
        raise Wrong("divisions of a level that states no sensitivity", hint)
    return Measure(found.value * context.division_mm_per_m, "slope", found.written)


@dataclass(frozen=True, slots=True)
class Stretch:
    """What a tolerance in length holds over: a size of the roll by its name, or a length."""

    words: tuple[str, ...]
    length: Quantity

    def read(self, text: str, context: Context) -> str | Measure:
        """Return the word, or the length."""
        word = text.strip()
        if word in self.words:
            return word
        if word[:1].isalpha():
            raise Wrong(
                "this is not a length", f"Write {', '.join(self.words)} or a length, {example(('length',))}."
            )
        return self.length.read(text, context)

    def stand_in(self, number: int) -> str:
        """Return the first word."""
        return self.words[0]

    def json(self) -> Json:
        """Return its JSON Schema."""
        return {"anyOf": [{"enum": list(self.words)}, self.length.json()]}


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
