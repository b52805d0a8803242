"""Two contents of a page compared where another machine may have rounded the last digit of a coordinate.

They are taken apart by the few signs that certgen writes, not by a guess at what others may mean: a number
with a sign in its middle, or a text in hexadecimal digits, is read otherwise by every program.
"""

import re
from collections.abc import Iterator
from math import isclose

from pypdf.generic import StreamObject

# points: a fiftieth of what a printer shows, and more than the last digit of any coordinate that is written
_UNSEEN = 0.005
_OF_A_CONTENT = {"/Length", "/Filter"}
_THEN = rb"(?=[ \n\[\]]|\Z)"
_TOKEN = re.compile(
    rb"[ \n]*+(?:(?P<number>-?(?:[0-9]{1,7}(?:\.[0-9]{1,9})?|\.[0-9]{1,9}))"
    + _THEN
    + rb"|(?P<word>[A-Za-z]{1,3}\*?)"
    + _THEN
    + rb"|(?P<other>\((?:[^()\\\r]++|\\[0-7]{3}|\\[()\\])*+\)|/[A-Za-z0-9+_.-]{1,80}"
    + _THEN
    + rb"|[\[\]])|(?P<end>\Z))"
)
# the operands that are coordinates; in a matrix only the shift (ISO 32000-1:2008, 8.3.4, 8.5.2, 9.4.2)
_COORDINATES = {
    **dict.fromkeys((b"cm", b"Tm"), (4, 5)),
    **dict.fromkeys((b"m", b"l", b"Td"), (0, 1)),
    **dict.fromkeys((b"re",), (0, 1, 2, 3)),
    b"c": (0, 1, 2, 3, 4, 5),
}

_Step = tuple[bytes, list[bytes]]


class _Foreign(ValueError):
    """Something that certgen writes into no content of a page."""


def draws_the_same(one: StreamObject, other: StreamObject) -> bool:
    """Tell whether two contents draw the same, but for coordinates that differ by less than anybody can see.

    Texts, sizes, colours, widths of lines and turns have to be the same bytes.
    """
    if any(set(some) - _OF_A_CONTENT for some in (one, other)):
        return False  # a font, a profile, a picture
    try:
        first, second = (list(_steps(some.get_data())) for some in (one, other))
    except _Foreign:
        return False
    return len(first) == len(second) and all(map(_same, first, second))


def _steps(content: bytes) -> Iterator[_Step]:
    """Each operator with its operands as they are written."""
    at, operands = 0, list[bytes]()
    while (token := _TOKEN.match(content, at)) is not None and token["end"] is None:
        at = token.end()
        if token["word"] is None:
            operands.append(token["number"] or token["other"])
        else:
            yield token["word"], operands
            operands = []
    if token is None or operands:
        raise _Foreign


def _same(one: _Step, other: _Step) -> bool:
    (word, first), (other_word, second) = one, other
    if word != other_word or len(first) != len(second):
        return False
    near = _COORDINATES.get(word, ())
    return all(
        a == b or (at in near and _is_near(a, b)) for at, (a, b) in enumerate(zip(first, second, strict=True))
    )


def _is_near(one: bytes, other: bytes) -> bool:
    """Whether both are numbers, and less apart than can be seen."""
    try:
        return isclose(float(one), float(other), rel_tol=0.0, abs_tol=_UNSEEN)
    except ValueError:
        return False
