"""Values that YAML parts at a comma that was meant otherwise, and what was probably meant.

In `{drive: 0,21}` and `[0,05 mm]` YAML parts the number at its decimal comma. No space follows that comma,
and what follows it is no key with a value: so the halves can be put together again, and the number be
reported as one. The same holds for a text with commas within quotation marks of print.
"""

import re
from collections.abc import Iterable
from dataclasses import replace
from itertools import pairwise

from certgen.survey.tree import Node, Scalar
from certgen.survey.typeset import opened, still_open

_WHOLE = re.compile(r"[+\-\u2212\u2013]?(0|[1-9]\d*)((,\d+)*|(\.\d{3})+)", re.ASCII)
_REST = re.compile(r"\d+(\D.*)?", re.ASCII)
_NUMBER = re.compile(r"([+-]?)(\d[\d.,]*\d)(.*)", re.ASCII)
_GROUPS = re.compile(r"[1-9]\d{0,2}(,\d{3})+(\.\d+)?", re.ASCII)
_POINT_GROUPS = re.compile(r"[1-9]\d{0,2}(\.\d{3})+,\d+", re.ASCII)


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
