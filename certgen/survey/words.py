"""The kinds of single value without a unit: how each is read, and how the JSON Schema describes it.

A kind's `read` raises Wrong. Its `stand_in` fills the place of a value that could not be read, so that
the rest of the file can still be checked; a survey with stand-ins is refused and never computed with.
"""

# ruff: noqa: ARG002  # every kind of value answers to the same protocol, and few use all of it

import re
from dataclasses import dataclass
from datetime import date
from typing import Literal

from certgen.survey import patterns
from certgen.survey.figures import Wrong, number_alone
from certgen.survey.leaf import Context, Json
from certgen.survey.letters import fault_of
from certgen.survey.spellings import LENGTHS, TEMPERATURES, spelling
from certgen.survey.suggest import did_you_mean

LONGEST_TEXT = 2000
LONGEST_NAME = 40
LARGEST_COUNT = 1_000_000
_LONGEST_COUNT = 100  # leading zeros are allowed; Python reads no number of thousands of digits
SMALLEST_FACTOR = 0.1
MOST_DEGREES = 1e6
LARGEST_FACTOR = 100
FIRST_YEAR, LAST_YEAR = 1970, 2100  # no laser surveyed a roll line before; beyond, a digit has slipped


@dataclass(frozen=True, slots=True)
class Text:
    """Free text; `lines` says that it may have several lines."""

    lines: bool = True

    def read(self, text: str, context: Context) -> str:
        """Return the text without space around it."""
        return _filled(
            text, LONGEST_TEXT, "Write it, in quotes where it holds `: ` or ` #`.", lines=self.lines
        )

    def stand_in(self, number: int) -> str:
        """Return a dash."""
        return "-"

    def json(self) -> Json:
        """Return its JSON Schema; plain numbers are text as well."""
        return {"type": ["string", "number", "boolean"], "minLength": 1, "maxLength": LONGEST_TEXT}


@dataclass(frozen=True, slots=True)
class Name:
    """The short name by which other keys refer to a roll, monument, instrument or setup."""

    def read(self, text: str, context: Context) -> str:
        """Return the name."""
        hint = "Write a short name such as R2."
        name = _filled(text, LONGEST_NAME, hint, lines=False)
        if not name.isprintable():
            raise Wrong("a space other than the ordinary one stands in the name", "Type the name anew.")
        return name

    def stand_in(self, number: int) -> str:
        """Return a name that nobody uses."""
        return f"\0{number}"

    def json(self) -> Json:
        """Return its JSON Schema; a plain number is a name as well."""
        return {"type": ["string", "number", "boolean"], "minLength": 1, "maxLength": LONGEST_NAME}


def _filled(text: str, longest: int, hint: str, *, lines: bool) -> str:
    words = text.strip()
    if not words:
        raise Wrong("no value is written here", hint)
    if len(words) > longest:
        raise Wrong(f"longer than {longest} characters", "Shorten it.")
    fault = fault_of(words, lines)
    if fault is not None:
        raise Wrong(*fault)
    return words


@dataclass(frozen=True, slots=True)
class Day:
    """A calendar day."""

    def read(self, text: str, context: Context) -> date:
        """Return the day of `YYYY-MM-DD`."""
        hint = "Write the day as YYYY-MM-DD, for example 2026-10-14."
        if not re.fullmatch(patterns.DAY, text.strip(), re.ASCII):
            raise Wrong("this is not a date", hint)
        try:
            day = date.fromisoformat(text.strip())
        except ValueError:
            raise Wrong("there is no such day", hint) from None
        if not FIRST_YEAR <= day.year <= LAST_YEAR:
            raise Wrong(f"the year is outside {FIRST_YEAR} to {LAST_YEAR}", "Check the year.")
        return day

    def stand_in(self, number: int) -> date:
        """Return the first day of the calendar."""
        return date.min

    def json(self) -> Json:
        """Return its JSON Schema."""
        return {"type": "string", "format": "date", "pattern": patterns.DAY}


@dataclass(frozen=True, slots=True)
class Whole:
    """A whole number."""

    at_least: int = 0

    def read(self, text: str, context: Context) -> int:
        """Return the number."""
        digits = text.strip().replace("\u2212", "-")
        if not re.fullmatch(r"[+-]?\d+", digits, re.ASCII):
            raise Wrong(
                "this is not a whole number", f"Write a whole number such as {max(self.at_least, 1)}."
            )
        if len(digits) > _LONGEST_COUNT or not self.at_least <= int(digits) <= LARGEST_COUNT:
            raise Wrong(f"the number is outside {self.at_least} to {LARGEST_COUNT}", "Check the number.")
        return int(digits)

    def stand_in(self, number: int) -> int:
        """Return the smallest allowed number."""
        return self.at_least

    def json(self) -> Json:
        """Return its JSON Schema."""
        return {"type": "integer", "minimum": self.at_least, "maximum": LARGEST_COUNT}


@dataclass(frozen=True, slots=True)
class Factor:
    """A coverage factor: a number without a unit."""

    def read(self, text: str, context: Context) -> float:
        """Return the number."""
        value = number_alone(text)
        if not SMALLEST_FACTOR <= value <= LARGEST_FACTOR:
            raise Wrong(f"this is outside {SMALLEST_FACTOR} to {LARGEST_FACTOR}", "A usual factor is 2.")
        return value

    def stand_in(self, number: int) -> float:
        """Return one."""
        return 1.0

    def json(self) -> Json:
        """Return its JSON Schema."""
        return {"type": "number", "minimum": SMALLEST_FACTOR, "maximum": LARGEST_FACTOR}


@dataclass(frozen=True, slots=True)
class Degrees:
    """Degrees of freedom: a number of at least 1 without a unit."""

    def read(self, text: str, context: Context) -> float:
        """Return the number."""
        value = number_alone(text)
        if not 1.0 <= value <= MOST_DEGREES:
            raise Wrong(f"this is outside 1 to {MOST_DEGREES:g}", "For n repeated readings it is n - 1.")
        return value

    def stand_in(self, number: int) -> float:
        """Return one."""
        return 1.0

    def json(self) -> Json:
        """Return its JSON Schema."""
        return {"type": "number", "minimum": 1, "maximum": MOST_DEGREES}


@dataclass(frozen=True, slots=True)
class Flag:
    """Yes or no."""

    def read(self, text: str, context: Context) -> bool:
        """Return whether `true` is written."""
        word = text.strip().casefold()
        if word not in ("true", "false"):
            raise Wrong("this is neither true nor false", "Write true or false.")
        return word == "true"

    def stand_in(self, number: int) -> bool:
        """Return no."""
        return False

    def json(self) -> Json:
        """Return its JSON Schema."""
        return {"type": "boolean"}


@dataclass(frozen=True, slots=True)
class Choice:
    """One of a few words."""

    names: tuple[str, ...]

    def read(self, text: str, context: Context) -> str:
        """Return the word."""
        word = text.strip()
        if word not in self.names:
            listed = ", ".join(self.names)
            raise Wrong(
                "this is not one of the choices here",
                f"{did_you_mean(word, self.names)}Write one of: {listed}.",
            )
        return word

    def stand_in(self, number: int) -> str:
        """Return the first choice."""
        return self.names[0]

    def json(self) -> Json:
        """Return its JSON Schema."""
        return {"enum": list(self.names)}


@dataclass(frozen=True, slots=True)
class Version:
    """The version of the survey format."""

    def read(self, text: str, context: Context) -> int:
        """Return 1, the only version there is."""
        if text.strip() != "1":
            raise Wrong("this version of the survey format is not known", "Write `survey: 1`.")
        return 1

    def stand_in(self, number: int) -> int:
        """Return 1."""
        return 1

    def json(self) -> Json:
        """Return its JSON Schema."""
        return {"const": 1}


@dataclass(frozen=True, slots=True)
class UnitName:
    """The unit that bare numbers of one kind of use are in."""

    kind: Literal["length", "temperature"]

    def read(self, text: str, context: Context) -> str:
        """Return the unit as the tables spell it."""
        known = LENGTHS if self.kind == "length" else TEMPERATURES
        unit = spelling(text.strip())
        if unit not in known:
            hint = f"{did_you_mean(unit, tuple(known))}Write one of: {', '.join(known)}."
            raise Wrong(f"this is not a unit of {self.kind}", hint)
        return unit

    def stand_in(self, number: int) -> str:
        """Return a usual unit."""
        return "mm" if self.kind == "length" else "degC"

    def json(self) -> Json:
        """Return its JSON Schema."""
        known = LENGTHS if self.kind == "length" else TEMPERATURES
        return {"enum": [*known, *(name.replace("µ", "\u03bc") for name in known if "µ" in name)]}
