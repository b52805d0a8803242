"""The survey file as a tree in which every key and value knows its line and column.

Values that a word processor or a comma has changed are read as what was meant, or named.

Scalars stay text, so that `NO`, `012`, `12:30` and dates mean what was written; the schema decides how
each is read.

In `{drive: 0,21}` and `[0,05 mm]` YAML parts the number at its decimal comma. No space follows that comma,
and what follows it is no key with a value: so the halves can be put together again, and the number be
reported as one. The same holds for a text with commas within quotation marks of print.
"""

import re
from collections.abc import Iterable
from collections.abc import Mapping as Dictionary
from dataclasses import dataclass, field, replace
from itertools import pairwise

from certgen.findings import Place

_DASH = re.compile("([\u2010-\u2015\u207b\ufe58\ufe63\uff0d])\\s*([\\d.].*)")
_OPENING = (
    "\u201c",
    "\u201d",
    "\u201e",
    "\u201f",
    "\u00ab",
    "\u00bb",
    "\u2018",
    "\u201a",
    "\u2039",
    "\u203a",
)
_CLOSING = ("\u201c", "\u201d", "\u00ab", "\u00bb", "\u2018", "\u2019", "\u2039", "\u203a")

QUOTES_NOTHING = "marks such as \u201c and \u201d quote nothing"
LONGEST_ECHO = 60
_WHOLE = re.compile(r"[+\-\u2212\u2013]?(0|[1-9]\d*)((,\d+)*|(\.\d{3})+)", re.ASCII)
_REST = re.compile(r"\d+(\D.*)?", re.ASCII)
_NUMBER = re.compile(r"([+-]?)(\d[\d.,]*\d)(.*)", re.ASCII)
_GROUPS = re.compile(r"[1-9]\d{0,2}(,\d{3})+(\.\d+)?", re.ASCII)
_POINT_GROUPS = re.compile(r"[1-9]\d{0,2}(\.\d{3})+,\d+", re.ASCII)


def with_minus(text: str) -> str | None:
    """Return a number that begins with a dash with a minus sign instead, None where it does not."""
    found = _DASH.fullmatch(text)
    return f"-{found.group(2)}" if found else None


def opened(text: str) -> bool:
    """Return whether a text begins with a quotation mark of print."""
    return text.startswith(_OPENING)


def still_open(text: str) -> bool:
    """Return whether it begins with such a mark and none closes it."""
    return opened(text) and not any(mark in text[1:] for mark in _CLOSING)


def unquoted(text: str) -> str | None:
    """Return the text within quotation marks of print, None where it is not within such."""
    return text[1:-1].strip() if len(text) > 1 and opened(text) and text.endswith(_CLOSING) else None


@dataclass(frozen=True, slots=True)
class Scalar:
    """One value as text, its letters composed (Unicode NFC).

    `plain` is False where it was quoted or written as a block. `end` is the place after it. `comma` says
    that YAML parted it at a comma that was probably meant as a decimal one.
    """

    place: Place
    text: str
    plain: bool = True
    size: int = 1
    end: Place | None = field(default=None, compare=False)
    comma: bool = False


@dataclass(frozen=True, slots=True)
class Sequence:
    """A list. `size` counts the nodes below, aliases expanded, and itself."""

    place: Place
    items: tuple["Node", ...]
    size: int


@dataclass(frozen=True, slots=True)
class Entry:
    """One key of a mapping with its value."""

    place: Place
    value: "Node"


@dataclass(frozen=True, slots=True)
class Mapping:
    """Keys and values in file order; `size` as for a list. `repeated` holds each second use of a key."""

    place: Place
    entries: Dictionary[str, Entry]
    size: int
    repeated: tuple[tuple[str, Place], ...] = ()


Node = Scalar | Sequence | Mapping


def echo(text: str) -> str:
    """Return user text fit for a message: one line, printable, at most about 60 characters."""
    head = "".join(c if c.isprintable() else " " for c in text[: LONGEST_ECHO + 1])
    return head if len(text) <= LONGEST_ECHO else head[: LONGEST_ECHO - 1] + "…"


def describe(node: Node) -> str:
    """Return what stands there, for the `got` of a finding."""
    if isinstance(node, Scalar):
        return echo(node.text) if node.text else "nothing"
    return "a list" if isinstance(node, Sequence) else "a group of keys"


def meant(text: str) -> tuple[str, ...]:
    """Return how a number with a comma in it is written with a point, the decimal comma first.

    One comma before three digits may be a thousands mark as well: both readings then. Empty where there is
    no comma in a number, or it makes no sense.
    """
    found = _NUMBER.match(text)
    if found is None or "," not in found.group(2):
        return ()
    sign, digits, unit = found.groups()
    return tuple(f"{sign}{number}{unit}" for number in _numbers(digits))


def _numbers(digits: str) -> Iterable[str]:
    if digits.count(",") == 1 and "." not in digits:
        yield digits.replace(",", ".")
    if _GROUPS.fullmatch(digits):
        yield digits.replace(",", "")
    if _POINT_GROUPS.fullmatch(digits):
        yield digits.replace(".", "").replace(",", ".")


def of_keys(pairs: Iterable[tuple[Scalar, Node]]) -> list[tuple[Scalar, Node]]:
    """Return the keys of a group with their values, a number that was parted at its comma in one."""
    made: list[tuple[Scalar, Node]] = []
    for key, value in pairs:
        half = _halves(made[-1][1], key) if made and _is_nothing(value) else None
        if half:
            made[-1] = made[-1][0], _whole(*half)
        else:
            made.append((key, value))
    return made


def of_items(items: list[Node]) -> list[Node]:
    """Return the items of a list, numbers that were parted at their comma in one.

    `[7,0]` may be two numbers: parted is what alone has a unit, or a leading zero, after its comma, or a
    list in which every second comma has a space after it and no other.
    """
    halves = [_parted(*pair) for pair in pairwise(items)]
    spaced = [number % 2 == 1 for number in range(len(halves))]
    alternating = len(halves) > 2 and len(halves) % 2 == 1 and [not half for half in halves] == spaced
    made: list[Node] = []
    taken = False
    for item, half in zip(items, (*halves, None), strict=False):
        if not taken:
            taken = half is not None and (alternating or _surely(half[1]))
            made.append(_whole(*half) if half and taken else item)
        else:
            taken = False
    return made


def _surely(rest: Scalar) -> bool:
    return len(rest.text) > 1 and (rest.text.startswith("0") or not rest.text.isdecimal())


def _parted(number: Node, rest: Node) -> tuple[Scalar, Scalar] | None:
    """Return both where they are digits with a comma between them and no space."""
    if not isinstance(number, Scalar) or not isinstance(rest, Scalar) or number.end is None:
        return None
    beside = number.end.line == rest.place.line and number.end.column + 1 == rest.place.column
    numbers = _WHOLE.fullmatch(number.text) and _REST.fullmatch(rest.text)
    return (number, rest) if beside and numbers and number.plain and rest.plain else None


def _halves(value: Node, key: Scalar) -> tuple[Scalar, Scalar] | None:
    if isinstance(value, Scalar) and value.plain and key.plain and still_open(value.text):
        return value, key
    return _parted(value, key)


def _whole(before: Scalar, rest: Scalar) -> Scalar:
    comma = ", " if opened(before.text) else ","
    return replace(before, text=f"{before.text}{comma}{rest.text}", end=rest.end, comma=True)


def _is_nothing(value: Node) -> bool:
    return isinstance(value, Scalar) and value.plain and value.text == ""
