"""Two streams of drawing compared where another machine may have rounded the last digit of a coordinate."""

from math import isclose
from typing import Any

from pypdf.generic import ArrayObject, ContentStream, StreamObject

# points: a fiftieth of what a printer shows, and more than the last digit of any coordinate that is written
_UNSEEN = 0.005
_NO_DRAWING = ("/EmbeddedFile", "/Metadata", "/ObjStm", "/XRef")


def draws_the_same(one: StreamObject, other: StreamObject) -> bool:
    """Tell whether two streams draw the same, but for numbers that differ by less than anybody can see.

    Text is compared letter by letter: it stands in strings, not in numbers.
    """
    if any(some.get("/Subtype") == "/Image" or some.get("/Type") in _NO_DRAWING for some in (one, other)):
        return False
    try:
        first, second = (ContentStream(some, None).operations for some in (one, other))
    except Exception:  # a font, a profile: no drawing, which the reader finds out in many ways
        return False
    return len(first) == len(second) and all(
        a[1] == b[1] and _same(a[0], b[0]) for a, b in zip(first, second, strict=True)
    )


def _same(one: Any, other: Any) -> bool:
    if isinstance(one, list | ArrayObject) and isinstance(other, list | ArrayObject):
        return len(one) == len(other) and all(_same(a, b) for a, b in zip(one, other, strict=True))
    if isinstance(one, int | float) and isinstance(other, int | float):
        return isclose(one, other, rel_tol=0.0, abs_tol=_UNSEEN)
    return type(one) is type(other) and bool(one == other)
