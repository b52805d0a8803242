"""Lines and labels over reportlab's drawing shapes; names in bounded room, labels apart, rows of rolls."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

from reportlab.graphics.shapes import Drawing, Group, Line, Polygon, String
from reportlab.lib.colors import Color

from certgen.figures.look import BODY, INK, width_of

ELLIPSIS = "…"
MOST_IN_A_ROW = 14

T = TypeVar("T")
Point = tuple[float, float]


def shortened(text: str, room: float, font: str, size: float) -> str:
    """Return a text that is at most `room` points wide, what is too much taken out of its middle.

    Names of one line mostly differ at an end, by a number or by the stand they begin with: both are kept.
    """
    if width_of(text, font, size) <= room:
        return text
    pieces = (_ends(text, count) for count in range(len(text) - 1, 0, -1))
    return next((piece for piece in pieces if width_of(piece, font, size) <= room), ELLIPSIS)


def _ends(text: str, count: int) -> str:
    """So many letters of a text, half of them from either end."""
    first = text[: (count + 1) // 2].rstrip()
    last = text[len(text) - count // 2 :].lstrip()
    return f"{first}{ELLIPSIS}{last}"


def spread(places: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Return places at least `gap` apart, in the same order, within low..high as far as there is room.

    `places` are sorted. Those that crowd are set side by side about their common middle; where all together
    need more room than there is, they share it evenly.
    """
    if not places:
        return []
    gap = min(gap, (high - low) / len(places))
    groups: list[tuple[float, int]] = []  # middle, number of labels
    for place in places:
        groups.append((place, 1))
        while len(groups) > 1 and _overlap(groups[-2], groups[-1], gap):
            groups[-2:] = [_joined(*groups[-2:])]
        groups[-1] = _inside(groups[-1], gap, low, high)
        while len(groups) > 1 and _overlap(groups[-2], groups[-1], gap):
            groups[-2:] = [_inside(_joined(*groups[-2:]), gap, low, high)]
    return [middle + gap * (i - (count - 1) / 2.0) for middle, count in groups for i in range(count)]


def _overlap(first: tuple[float, int], second: tuple[float, int], gap: float) -> bool:
    room = gap * (first[1] + second[1]) / 2.0
    return second[0] - first[0] < room * (1.0 - 1e-12)


def _joined(first: tuple[float, int], second: tuple[float, int]) -> tuple[float, int]:
    count = first[1] + second[1]
    return (first[0] * first[1] + second[0] * second[1]) / count, count


def _inside(group: tuple[float, int], gap: float, low: float, high: float) -> tuple[float, int]:
    half = gap * group[1] / 2.0
    return min(max(group[0], low + half), high - half), group[1]


def rows_of(rolls: Sequence[T]) -> list[Sequence[T]]:
    """Return the rolls in as few rows as will do, as even as can be."""
    count = -(-len(rolls) // MOST_IN_A_ROW)
    size = -(-len(rolls) // count)
    return [rolls[start : start + size] for start in range(0, len(rolls), size)]


@dataclass(frozen=True, slots=True)
class Stroke:
    """How a line is drawn: colour, width in points, dash pattern (None: solid)."""

    colour: Color = INK
    width: float = 0.6
    dash: tuple[float, ...] | None = None


def line(drawing: Drawing, start: Point, end: Point, stroke: Stroke) -> None:
    """Add a straight line."""
    drawing.add(
        Line(
            *start,
            *end,
            strokeColor=stroke.colour,
            strokeWidth=stroke.width,
            strokeDashArray=list(stroke.dash) if stroke.dash else None,
            strokeLineCap=1,
        )
    )


def area(drawing: Drawing, points: list[Point], fill: Color | None, stroke: Stroke | None = None) -> None:
    """Add a polygon, filled or hollow."""
    flat = [coordinate for point in points for coordinate in point]
    colour, width = (None, 0) if stroke is None else (stroke.colour, stroke.width)
    drawing.add(Polygon(flat, fillColor=fill, strokeColor=colour, strokeWidth=width))


@dataclass(frozen=True, slots=True)
class Letter:
    """How a text is set: size in points, font, and what of it stands on the point (start, middle or end)."""

    size: float = 6.5
    font: str = BODY
    anchor: str = "middle"


def label(drawing: Drawing | Group, at: Point, text: str, letter: Letter) -> None:
    """Add a text."""
    drawing.add(
        String(
            *at,
            text,
            fontName=letter.font,
            fontSize=letter.size,
            textAnchor=letter.anchor,
            fillColor=INK,
        )
    )


def turned_label(drawing: Drawing, at: Point, text: str, letter: Letter) -> None:
    """Add a text turned a quarter to the left, so that it reads upwards from, about or up to the point."""
    group = Group()
    label(group, (0, 0), text, letter)
    group.translate(*at)
    group.rotate(90)
    drawing.add(group)


def arrow(drawing: Drawing, start: Point, end: Point, stroke: Stroke) -> None:
    """Add an arrow with a filled head; lines along one axis only."""
    line(drawing, start, end, stroke)
    (x0, y0), (x, y) = start, end
    along_x = abs(x - x0) >= abs(y - y0)
    back = -3.0 if (x - x0 if along_x else y - y0) >= 0 else 3.0
    wings = (
        [(x + back, y + 1.4), (x + back, y - 1.4)] if along_x else [(x + 1.4, y + back), (x - 1.4, y + back)]
    )
    area(drawing, [(x, y), *wings], stroke.colour)


def block_arrow(drawing: Drawing, start: Point, length: float, stroke: Stroke) -> None:
    """Add a hollow arrow to the right, which no arrow of a move looks like."""
    (x, y), neck = start, start[0] + length - 5.0
    half, wing = 1.2, 3.0
    outline = [(x, y - half), (neck, y - half), (neck, y - wing), (x + length, y)]
    outline += [(neck, y + wing), (neck, y + half), (x, y + half)]
    area(drawing, outline, None, stroke)


def nice_denominator(least: float) -> int:
    """Return the smallest round scale denominator that is not below `least` (whole, from 1)."""
    power = 1
    while True:
        for step in (10, 15, 20, 25, 30, 40, 50, 60, 75):
            if step * power >= least * 10 and step * power % 10 == 0:
                return step * power // 10
        power *= 10


def nice_magnification(most: float) -> float:
    """Return the largest of 1, 2, 2.5, 5 times a power of ten that is not above `most`."""
    power = 1e-6
    best = power
    while power <= most:
        best = max(step * power for step in (1.0, 2.0, 2.5, 5.0) if step * power <= most)
        power *= 10.0
    return float(f"{best:.3g}")
