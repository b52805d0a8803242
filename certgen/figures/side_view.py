"""The side view of the line: rolls true to scale, the path of the web, and their names kept apart.

A survey does not say on which side the web wraps a roll; a web under tension lies on the outer side of its
turn, so the side follows from the roll positions. Source: plane geometry of common tangents.

The path is inferred from where the rolls stand, for a survey does not state it: it is drawn thin, grey and
dashed, and caption and legend say so.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import atan2, cos, hypot, pi, sin, sqrt

from reportlab.graphics.shapes import Circle as CircleShape
from reportlab.graphics.shapes import Drawing, PolyLine

from certgen.figures.look import BODY, GREY, INK, MM, RULE, STRONG, width_of
from certgen.figures.shapes import (
    Letter,
    Point,
    Stroke,
    area,
    label,
    line,
    nice_denominator,
    rows_of,
    shortened,
)
from certgen.survey.survey import Monument, Roll, Survey
from certgen.wording.wording import Wording

# A turn flatter than this (sine) does not tell a side: the web keeps the side it had.
_STRAIGHT = 0.02
_ARC_STEP = pi / 24.0
_SIZE = 6.5
_ROOMS = (66.0, 44.0, 30.0, 20.0)  # points of a name beside its roll; the less, the more it is crowded

Box = tuple[float, float, float, float]
WEB = Stroke(GREY, 0.7, (4.0, 2.5))
_MOST_HEIGHT = 78.0 * MM
_ONE_HEIGHT = 30.0 * MM  # a roll by itself has nothing to be seen beside
_FLOOR = 16.0
_TOP = 14.0


@dataclass(frozen=True, slots=True)
class Circle:
    """A roll in the side view."""

    x: float
    y: float
    r: float


def web_path(rolls: Sequence[Circle]) -> list[Point]:
    """Return the web as a chain of points, from the first roll to the last; [] for fewer than two rolls."""
    if len(rolls) < 2:
        return []
    sides = _sides(rolls)
    normals = [
        _tangent_normal(a, b, (sides[i] * a.r, sides[i + 1] * b.r))
        for i, (a, b) in enumerate(pairwise(rolls))
    ]
    points: list[Point] = []
    for i, roll in enumerate(rolls):
        arriving, leaving = normals[max(i - 1, 0)], normals[min(i, len(normals) - 1)]
        points += _arc(roll, sides[i], arriving, leaving)
    return points


def _sides(rolls: Sequence[Circle]) -> list[int]:
    """+1 where the web lies to the left of its travel (over the top when moving right), -1 to the right."""
    turns = [_turn(*rolls[i - 1 : i + 2]) for i in range(1, len(rolls) - 1)]
    sides: list[int] = []
    for turn in turns:
        kept = sides[-1] if sides else 1
        sides.append(kept if abs(turn) < _STRAIGHT else (-1 if turn > 0 else 1))
    return [sides[0], *sides, sides[-1]] if sides else [1] * len(rolls)


def _turn(a: Circle, b: Circle, c: Circle) -> float:
    """The sine of the turn at b, positive to the left."""
    first, second = (b.x - a.x, b.y - a.y), (c.x - b.x, c.y - b.y)
    size = hypot(*first) * hypot(*second)
    return (first[0] * second[1] - first[1] * second[0]) / size if size else 0.0


def _tangent_normal(a: Circle, b: Circle, signed: tuple[float, float]) -> Point:
    """The unit left normal n of the common tangent through a + n r_a and b + n r_b (signed radii)."""
    dx, dy = b.x - a.x, b.y - a.y
    distance = hypot(dx, dy)
    if distance == 0.0:
        return 0.0, 1.0
    ux, uy = dx / distance, dy / distance
    along = max(-1.0, min(1.0, (signed[0] - signed[1]) / distance))
    across = sqrt(1.0 - along**2)
    return ux * along - uy * across, uy * along + ux * across


def _arc(roll: Circle, side: int, arriving: Point, leaving: Point) -> list[Point]:
    """The wrap: clockwise where the web lies to the left of its travel, else counter-clockwise."""
    start = atan2(side * arriving[1], side * arriving[0])
    sweep = (atan2(side * leaving[1], side * leaving[0]) - start) % (2.0 * pi)
    sweep = sweep - 2.0 * pi if side > 0 and sweep > 0 else sweep
    if abs(sweep) > 1.9 * pi:
        sweep = 0.0
    steps = max(1, int(abs(sweep) / _ARC_STEP))
    angles = [start + sweep * step / steps for step in range(steps + 1)]
    return [(roll.x + roll.r * cos(angle), roll.y + roll.r * sin(angle)) for angle in angles]


def floor_label(drawing: Drawing, at: Point, name: str) -> None:
    """Name a monument under the floor, within the drawing."""
    x, y = at
    shown = shortened(name, _ROOMS[0], BODY, _SIZE)
    half = width_of(shown, BODY, _SIZE) / 2.0
    label(drawing, (min(max(x, half), drawing.width - half), y), shown, Letter(_SIZE))


def roll_labels(
    drawing: Drawing, survey: Survey, circles: list[Circle], around: tuple[Wording, list[Point], float]
) -> None:
    """Name each roll at the first free place around it, farther out with a leader where it is crowded.

    `around` are the words, the points of the web's path and the height of the floor, which names keep off.
    """
    wording, web, floor = around
    taken: list[Box] = [*((c.x - c.r, c.y - c.r, c.x + c.r, c.y + c.r) for c in circles), *_along(web)]
    taken.append((0.0, floor - 3.0, drawing.width, floor + 0.5))
    for roll, circle in zip(survey.rolls, circles, strict=True):
        mark = f" ({wording.word('legend_reference')})" if roll.id == survey.reference.roll else ""
        text, half, (x, y) = _placed(roll.id, mark, circle, taken, drawing)
        taken.append(_box(x, y, half))
        gap = max(abs(x - circle.x) - half, abs(y + 2.0 - circle.y)) - circle.r
        if gap > 9.0:
            line(drawing, (circle.x, circle.y), _nearest(circle, _box(x, y, half)), Stroke(RULE, 0.4))
        label(drawing, (x, y), text, Letter(_SIZE, STRONG))


def _nearest(circle: Circle, box: Box) -> Point:
    """The point of a label's box that its leader meets first."""
    return min(max(circle.x, box[0]), box[2]), min(max(circle.y, box[1]), box[3])


def _along(points: list[Point]) -> list[Box]:
    """Small boxes along the web, so that labels keep off it."""
    found: list[Box] = []
    for (x0, y0), (x1, y1) in pairwise(points):
        steps = max(1, int(max(abs(x1 - x0), abs(y1 - y0)) / 4.0))
        for step in range(steps + 1):
            x, y = x0 + (x1 - x0) * step / steps, y0 + (y1 - y0) * step / steps
            found.append((x - 0.5, y - 0.5, x + 0.5, y + 0.5))
    return found


def _placed(
    name: str, mark: str, circle: Circle, taken: list[Box], drawing: Drawing
) -> tuple[str, float, Point]:
    """The label as it is drawn, half its width, and its place: shorter where there is no free one."""
    for room in _ROOMS:
        text = shortened(name, room, STRONG, _SIZE) + mark
        half = width_of(text, STRONG, _SIZE) / 2.0
        places = _inside(circle, half, drawing)
        free = (place for place in places if not any(_overlap(_box(*place, half), box) for box in taken))
        found = next(free, None)
        if found is not None:
            return text, half, found
    return text, half, places[0]


def _inside(circle: Circle, half: float, drawing: Drawing) -> list[Point]:
    """The places of a label that are within the drawing; where none is, all of them."""
    places = _places(circle, half)
    inside = [
        (x, y)
        for x, y in places
        if x - half >= 0.0 and x + half <= drawing.width and 12.0 <= y <= drawing.height - 6.0
    ]
    return inside or places


def _places(circle: Circle, half: float) -> list[Point]:
    """Above, below, right, left; then the same farther out."""
    found: list[Point] = []
    for away in (2.5, 11.0, 20.0, 29.0, 38.0):
        reach = circle.r + away
        found += [
            (circle.x, circle.y + reach),
            (circle.x, circle.y - reach - _SIZE * 0.75),
            (circle.x + reach + half, circle.y - 2.0),
            (circle.x - reach - half, circle.y - 2.0),
        ]
    return found


def _box(x: float, y: float, half: float) -> Box:
    return x - half - 1.0, y - 1.5, x + half + 1.0, y + _SIZE * 0.8


def _overlap(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


@dataclass(frozen=True, slots=True)
class SideView:
    """One row: the drawing, the first and the last roll it shows, and the denominator of its scale."""

    drawing: Drawing
    first: str
    last: str
    scale: int


def side_views(survey: Survey, wording: Wording, width: float) -> list[SideView]:
    """Draw the line seen from the operator side, web direction left to right; `width` in points.

    A long line breaks into rows of the same scale.
    """
    parts = _parts(survey)
    scale = max(_least_scale(part, width) for part in parts)
    return [_side_view(part, wording, width, scale) for part in parts]


def _parts(survey: Survey) -> list[Survey]:
    """The survey in rows of rolls, each with the monuments beside it."""
    rows = rows_of(survey.rolls)
    if len(rows) == 1:
        return [survey]
    return [replace(survey, rolls=tuple(row), monuments=_beside(survey, row)) for row in rows]


def _beside(survey: Survey, row: Sequence[Roll]) -> tuple[Monument, ...]:
    stations = [roll.station_mm for roll in row]
    aside = 0.1 * (max(stations) - min(stations))
    low, high = min(stations) - aside, max(stations) + aside
    return tuple(monument for monument in survey.monuments if low <= monument.station_mm <= high)


def _side_view(survey: Survey, wording: Wording, width: float, scale: int) -> SideView:
    left, right, bottom, top = _extent(survey)
    spare = width - (right - left) * MM / scale
    height = (top - bottom) * MM / scale + _FLOOR + _TOP
    frame = _Frame(scale, left, bottom, height, spare / 2.0)
    drawing = Drawing(width, frame.height)
    _floor(drawing, survey, frame, width)
    circles = [frame.circle(roll) for roll in survey.rolls]
    web = web_path(circles)
    _web(drawing, web)
    for roll, circle in zip(survey.rolls, circles, strict=True):
        reference = roll.id == survey.reference.roll
        stroke = 1.4 if reference else 0.7
        drawing.add(
            CircleShape(circle.x, circle.y, circle.r, fillColor=None, strokeColor=INK, strokeWidth=stroke)
        )
        arm = min(2.0, circle.r * 0.6)
        line(drawing, (circle.x - arm, circle.y), (circle.x + arm, circle.y), Stroke(INK, 0.4))
        line(drawing, (circle.x, circle.y - arm), (circle.x, circle.y + arm), Stroke(INK, 0.4))
    roll_labels(drawing, survey, circles, (wording, web, frame.at(0.0, 0.0)[1]))
    return SideView(drawing, survey.rolls[0].id, survey.rolls[-1].id, frame.scale)


@dataclass(frozen=True, slots=True)
class _Frame:
    """From millimetres on the line to points on the page."""

    scale: int
    left_mm: float
    bottom_mm: float
    height: float
    margin: float

    def at(self, x_mm: float, z_mm: float) -> Point:
        factor = MM / self.scale
        return self.margin + (x_mm - self.left_mm) * factor, _FLOOR + (z_mm - self.bottom_mm) * factor

    def circle(self, roll: Roll) -> Circle:
        x, y = self.at(roll.station_mm, roll.height_mm)
        return Circle(x, y, max(roll.diameter_mm / 2.0 * MM / self.scale, 1.2))


def _least_scale(survey: Survey, width: float) -> int:
    left, right, bottom, top = _extent(survey)
    inner, height = width - 8.0, _MOST_HEIGHT if len(survey.rolls) > 1 else _ONE_HEIGHT
    return nice_denominator(max((right - left) * MM / inner, (top - bottom) * MM / height, 1.0))


def _extent(survey: Survey) -> tuple[float, float, float, float]:
    """Left, right, bottom and top of everything drawn, mm; the floor is at height zero."""
    lefts = [roll.station_mm - roll.diameter_mm / 2.0 for roll in survey.rolls]
    rights = [roll.station_mm + roll.diameter_mm / 2.0 for roll in survey.rolls]
    stations = [monument.station_mm for monument in survey.monuments]
    bottom = min(0.0, *(roll.height_mm - roll.diameter_mm / 2.0 for roll in survey.rolls))
    top = max(roll.height_mm + roll.diameter_mm / 2.0 for roll in survey.rolls)
    return min(lefts + stations), max(rights + stations), bottom, max(top, bottom + 1.0)


def _floor(drawing: Drawing, survey: Survey, frame: _Frame, width: float) -> None:
    _, floor = frame.at(0.0, 0.0)
    line(drawing, (2.0, floor), (width - 2.0, floor), Stroke(GREY, 0.5))
    for tick in range(int((width - 8.0) / 6.0)):
        line(drawing, (4.0 + 6.0 * tick, floor - 3.0), (7.0 + 6.0 * tick, floor), Stroke(RULE, 0.4))
    for monument in survey.monuments:
        x, _ = frame.at(monument.station_mm, 0.0)
        area(drawing, [(x - 3.0, floor - 4.0), (x + 3.0, floor - 4.0), (x, floor + 1.5)], INK)
        floor_label(drawing, (x, floor - 11.5), monument.id)


def _web(drawing: Drawing, points: list[Point]) -> None:
    if not points:
        return
    flat = [coordinate for point in points for coordinate in point]
    dash = list(WEB.dash or ())
    drawing.add(PolyLine(flat, strokeColor=WEB.colour, strokeWidth=WEB.width, strokeDashArray=dash))
    _direction(drawing, *max(pairwise(points), key=lambda ends: hypot(*_step(*ends))))


def _step(start: Point, end: Point) -> Point:
    return end[0] - start[0], end[1] - start[1]


def _direction(drawing: Drawing, start: Point, end: Point) -> None:
    """An arrowhead on the web, in the middle of its longest straight part."""
    (dx, dy), length = _step(start, end), hypot(*_step(start, end)) or 1.0
    ux, uy = dx / length, dy / length
    x, y = (start[0] + end[0]) / 2.0, (start[1] + end[1]) / 2.0
    tip, back = (x + 4.0 * ux, y + 4.0 * uy), (x - 3.0 * ux, y - 3.0 * uy)
    wings = [(back[0] - 2.2 * uy, back[1] + 2.2 * ux), (back[0] + 2.2 * uy, back[1] - 2.2 * ux)]
    area(drawing, [tip, *wings], WEB.colour)
