"""Points, matrices and outlines on a page of a PDF (ISO 32000-1:2008, 8.3 and 8.5)."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

Matrix = tuple[float, float, float, float, float, float]
Point = tuple[float, float]

_PIECES = 8  # straight ones that a curve is taken as


def matrix_of(numbers: tuple[float, ...]) -> Matrix:
    """Return six operands as a matrix; TypeError or ValueError where they are none."""
    a, b, c, d, e, f = map(float, numbers)
    return a, b, c, d, e, f


def times(one: Matrix, other: Matrix) -> Matrix:
    """Return the change that does first `one`, then `other`."""
    a, b, c, d, e, f = one
    g, h, i, j, k, m = other
    return a * g + b * i, a * h + b * j, c * g + d * i, c * h + d * j, e * g + f * i + k, e * h + f * j + m


def moved(matrix: Matrix, x: float, y: float) -> Point:
    """Return where a matrix puts a point."""
    a, b, c, d, e, f = matrix
    return a * x + c * y + e, b * x + d * y + f


def within(point: Point, box: tuple[float, float, float, float]) -> bool:
    """Return whether a point lies in a box of its left, lower, right and upper edges, edges included."""
    return box[0] <= point[0] <= box[2] and box[1] <= point[1] <= box[3]


def is_inside(path: list[Point], point: Point) -> bool:
    """Return whether a point lies inside a closed path, by the even-odd rule (8.5.3.3.3)."""
    x, y = point
    inside = False
    for (x0, y0), (x1, y1) in zip(path, (*path[1:], path[0]), strict=True):
        if (y0 > y) != (y1 > y) and x < x0 + (y - y0) / (y1 - y0) * (x1 - x0):
            inside = not inside
    return inside


def curve_points(leads: Sequence[Point]) -> Iterator[Point]:
    """Yield points along a curve of Bézier that four points lead (8.5.2.2), its begin left out."""
    for step in range(1, _PIECES + 1):
        t = step / _PIECES
        parts = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3)
        x, y = (sum(part * lead[i] for part, lead in zip(parts, leads, strict=True)) for i in (0, 1))
        yield x, y


def line_bands(path: list[Point], width: float, cap: float) -> Iterator[list[Point]]:
    """Yield what a wide line covers, four-sided, a band a piece; `cap` is how far its ends reach."""
    for (x0, y0), (x1, y1) in pairwise(path):
        length = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
        along, up = ((x1 - x0) / length, (y1 - y0) / length) if length > 0.0 else (1.0, 0.0)
        u, v, s, t = -up * width / 2.0, along * width / 2.0, along * cap, up * cap
        x0, y0, x1, y1 = x0 - s, y0 - t, x1 + s, y1 + t
        yield [(x0 + u, y0 + v), (x1 + u, y1 + v), (x1 - u, y1 - v), (x0 - u, y0 - v)]
