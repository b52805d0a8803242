"""Small helpers over reportlab's drawing shapes, so that every figure draws lines and labels alike."""

from dataclasses import dataclass

from reportlab.graphics.shapes import Drawing, Group, Line, Polygon, String
from reportlab.lib.colors import Color

from certgen.certificate.look import BODY, INK

Point = tuple[float, float]


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
