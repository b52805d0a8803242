"""The side view of the line: rolls as circles at station and height, true to scale, with the web's path.

The path is inferred from where the rolls stand, for a survey does not state it: it is drawn thin, grey and
dashed, and caption and legend say so.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import hypot

from reportlab.graphics.shapes import Circle as CircleShape
from reportlab.graphics.shapes import Drawing, PolyLine

from certgen.certificate.look import GREY, INK, MM, RULE
from certgen.certificate.pen import Point, Stroke, area, line, nice_denominator
from certgen.certificate.rows import rows_of
from certgen.certificate.side_labels import floor_label, roll_labels
from certgen.certificate.web_path import Circle, web_path
from certgen.certificate.wording import Wording
from certgen.survey.survey import Monument, Roll, Survey

WEB = Stroke(GREY, 0.7, (4.0, 2.5))
_MOST_HEIGHT = 78.0 * MM
_ONE_HEIGHT = 30.0 * MM  # a roll by itself has nothing to be seen beside
_FLOOR = 16.0
_TOP = 14.0


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
    frame = _frame(survey, width, scale)
    drawing = Drawing(width, frame.height)
    _floor(drawing, survey, frame, width)
    circles = [frame.circle(roll) for roll in survey.rolls]
    web = web_path(circles)
    _web(drawing, web)
    for roll, circle in zip(survey.rolls, circles, strict=True):
        _roll(drawing, circle, reference=roll.id == survey.reference.roll)
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


def _frame(survey: Survey, width: float, scale: int) -> _Frame:
    left, right, bottom, top = _extent(survey)
    spare = width - (right - left) * MM / scale
    height = (top - bottom) * MM / scale + _FLOOR + _TOP
    return _Frame(scale, left, bottom, height, spare / 2.0)


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


def _roll(drawing: Drawing, circle: Circle, *, reference: bool) -> None:
    stroke = 1.4 if reference else 0.7
    drawing.add(
        CircleShape(circle.x, circle.y, circle.r, fillColor=None, strokeColor=INK, strokeWidth=stroke)
    )
    arm = min(2.0, circle.r * 0.6)
    line(drawing, (circle.x - arm, circle.y), (circle.x + arm, circle.y), Stroke(INK, 0.4))
    line(drawing, (circle.x, circle.y - arm), (circle.x, circle.y + arm), Stroke(INK, 0.4))
