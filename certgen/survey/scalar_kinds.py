"""The kinds of single value without a unit: how each is read, and how the JSON Schema describes it.

Texts use letters that the fonts of the certificate have; an unknown word is answered with the nearest known.

The fonts belong to the certificate and cost time to load; the ranges here are theirs, and a test holds them
against the fonts. Invisible letters (Unicode category Cf) and control characters (Cc) have no place in a
text that identifies something: two names that look alike would differ.

A kind's `read` raises Wrong. Its `stand_in` fills the place of a value that could not be read, so that
the rest of the file can still be checked; a survey with stand-ins is refused and never computed with.
"""

import re
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from difflib import SequenceMatcher, get_close_matches
from itertools import islice
from typing import Literal
from unicodedata import category

from certgen.survey import spellings
from certgen.survey.number_text import Wrong, number_alone
from certgen.survey.sections import Context, Json
from certgen.survey.spellings import LENGTHS, TEMPERATURES, spelling

# the first and last letter of each range that all fonts of the certificate have, in hexadecimal
_RANGES = """
20-7E A0-AC AE-17F 192 1A0-1A1 1AF-1B0 1F0 1FA-1FF 218-21B 237 2BC 2C6-2C7 2C9 2D8-2DD 2F3 300-301 303 309
30F 323 384-38A 38C 38E-3A1 3A3-3CE 3D1-3D2 3D6 400-486 488-513 1E00-1E01 1E3E-1E3F 1E80-1E85 1EA0-1EF9
1F4D 2000-200A 2013-2015 2017-201E 2020-2022 2026 2030 2032-2033 2039-203A 203C 2044 2070 2074-2079 207F
20A3-20A4 20A7 20AB-20AC 2105 2113 2116 2120 2122 2126 212E 215B-215E 2202 2206 220F 2211-2212 221A 221E
222B 2248 2260 2264-2265 25CA FB00-FB04
"""
_BOUNDS = tuple(
    int(bound, 16) + after
    for written in _RANGES.split()
    for bound, after in zip((written.split("-") * 2)[:2], (0, 1), strict=True)
)
_LISTED = 5
_HYPHENS = "\u2010\u2011"
_LOST = "\ufffd"
_BREAKS = "\n\r\v\f\x85\u2028\u2029"
_OTHER_SCRIPT = "Write it in Latin, Greek or Cyrillic letters: the certificate is printed with those."
_LONGEST = 60  # nobody mistypes a key into more, and comparing long texts is slow
_MOST_KNOWN = 500
# ruff: noqa: ARG002  # every kind of value answers to the same protocol, and few use all of it


LONGEST_TEXT = 2000
LONGEST_NAME = 40
LARGEST_COUNT = 1_000_000
_LONGEST_COUNT = 100  # leading zeros are allowed; Python reads no number of thousands of digits
SMALLEST_FACTOR = 0.1
MOST_DEGREES = 1e6
LARGEST_FACTOR = 100
FIRST_YEAR, LAST_YEAR = 1970, 2100  # no laser surveyed a roll line before; beyond, a digit has slipped


def has_letter(letter: str) -> bool:
    """Return whether the fonts of the certificate have a letter."""
    return bisect_right(_BOUNDS, ord(letter)) % 2 == 1


def fault_of(text: str, lines: bool) -> tuple[str, str] | None:
    """Return what is wrong with the letters of a text, and what would be right; None where nothing is.

    `lines` says that it may have several lines.
    """
    if text.isascii() and text.isprintable():
        return None
    found = list(dict.fromkeys(text))
    return _break(found, lines) or _unseen(found, lines) or _unprintable(found)


def _break(found: list[str], lines: bool) -> tuple[str, str] | None:
    if not lines and any(letter in _BREAKS for letter in found):
        return "this stands on one line", "Write it without a line break."
    return None


def _unseen(found: list[str], lines: bool) -> tuple[str, str] | None:
    for letter in found:
        if letter == "\t":
            return "a tab stands in the text", "Write a space."
        if category(letter) in ("Cc", "Zl", "Zp") and not (lines and letter == "\n"):
            return f"a control character, {_code(letter)}, cannot stand here", "Remove it."
        if category(letter) == "Cf":
            return (
                f"a letter that nobody sees, {_code(letter)}, stands here",
                "Remove it: type the text anew.",
            )
    return None


def _unprintable(found: list[str]) -> tuple[str, str] | None:
    missing = [letter for letter in found if not has_letter(letter) and not letter.isspace()]
    if not missing:
        return None
    more = f" and {len(missing) - _LISTED} more" if len(missing) > _LISTED else ""
    message = f"no font of the certificate has {', '.join(map(_shown, missing[:_LISTED]))}{more}"
    if all(letter in _HYPHENS for letter in missing):
        return message, "Write an ordinary hyphen, -."
    if _LOST in missing:
        return "a letter was lost here (U+FFFD)", "Type it again, and save the file as UTF-8."
    return message, _OTHER_SCRIPT


def _shown(letter: str) -> str:
    seen = letter.isprintable() and not category(letter).startswith("M")
    return f"{letter} ({_code(letter)})" if seen else _code(letter)


def _code(letter: str) -> str:
    return f"U+{ord(letter):04X}"


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word most like `word`, None where none is near.

    Capitals count only between words that differ in nothing else; of equals the first known is taken, so
    that the same words in the same order have the same answer.
    """
    folded: dict[str, list[str]] = {}
    for name in islice(known, _MOST_KNOWN):
        folded.setdefault(name.casefold(), []).append(name)
    near = get_close_matches(word.casefold(), folded, 1, 0.6) if len(word) <= _LONGEST else []
    alike = folded[near[0]] if near else []
    return max(alike, key=lambda name: SequenceMatcher(None, name, word).ratio(), default=None)


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """Return `Did you mean X? `, empty where nothing is near."""
    near = nearest(word, known)
    return "" if near is None else f"Did you mean {near}? "


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
        if not re.fullmatch(spellings.DAY, text.strip(), re.ASCII):
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
        return {"type": "string", "format": "date", "pattern": spellings.DAY}


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


# the officially assigned codes of ISO 3166-1 (alpha-2), from memory
_COUNTRIES = frozenset(
    """
AD AE AF AG AI AL AM AO AQ AR AS AT AU AW AX AZ BA BB BD BE BF BG BH BI BJ BL BM BN BO BQ BR BS BT BV BW
BY BZ CA CC CD CF CG CH CI CK CL CM CN CO CR CU CV CW CX CY CZ DE DJ DK DM DO DZ EC EE EG EH ER ES ET FI
FJ FK FM FO FR GA GB GD GE GF GG GH GI GL GM GN GP GQ GR GS GT GU GW GY HK HM HN HR HT HU ID IE IL IM IN
IO IQ IR IS IT JE JM JO JP KE KG KH KI KM KN KP KR KW KY KZ LA LB LC LI LK LR LS LT LU LV LY MA MC MD ME
MF MG MH MK ML MM MN MO MP MQ MR MS MT MU MV MW MX MY MZ NA NC NE NF NG NI NL NO NP NR NU NZ OM PA PE PF
PG PH PK PL PM PN PR PS PT PW PY QA RE RO RS RU RW SA SB SC SD SE SG SH SI SJ SK SL SM SN SO SR SS ST SV
SX SY SZ TC TD TF TG TH TJ TK TL TM TN TO TR TT TV TW TZ UA UG UM US UY UZ VA VC VE VG VI VN VU WF WS YE
YT ZA ZM ZW
""".split()  # noqa: SIM905  # shorter so
)


@dataclass(frozen=True, slots=True)
class Country:
    """A country by the two letters of ISO 3166-1."""

    def read(self, text: str, context: Context) -> str:
        """Return the code; Norway's is no negation here."""
        code = text.strip()
        if code not in _COUNTRIES:
            upper = "" if code.upper() not in _COUNTRIES else f"Did you mean {code.upper()}? "
            hint = f"{upper}Write its two capital letters, for example DE, GB or US."
            raise Wrong("this is no country code of ISO 3166-1", hint)
        return code

    def stand_in(self, number: int) -> str:
        """Return a code."""
        return "DE"

    def json(self) -> Json:
        """Return its JSON Schema."""
        return {"type": "string", "pattern": "^[A-Z]{2}$"}


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
