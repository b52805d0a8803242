"""The marks in one column of the plan or level view: tolerance band, bars, whisker, move, name and verdict.

A bar starts at the operator end and its drive end leans: downstream to the right in the plan, up in the
level view.
"""

from dataclasses import dataclass, field
from typing import Literal

from reportlab.graphics.shapes import Drawing

from certgen.assessment.assessment import AspectName, Measured, RollResult
from certgen.certificate.look import BAND, BLUE, BODY, GREY, ORANGE, RULE, STRONG, width_of
from certgen.certificate.pen import Letter, Point, Stroke, area, arrow, label, line
from certgen.certificate.shortened import shortened
from certgen.engine.moves import Move
from certgen.engine.travel import ROUNDING_MM

FOUND = Stroke(ORANGE, 1.0, (3.0, 2.0))
LEFT = Stroke(BLUE, 1.5)
_TRUE = Stroke(RULE, 0.5, (1.0, 1.5))
_UNREAD = Stroke(GREY, 0.8, (0.5, 2.5))
_WHISKER = Stroke(BLUE, 0.6)
_MOVE = Stroke(GREY, 0.7)
_LEAST_SIZE = 4.8
# the letters of an end stand so far out from its end, and take so much room beside the bar
_MARK_OUT = 5.4
MARK_ROOM = 9.8

# what a drawing may show, as the legend names it
Mark = Literal["found", "left", "band", "whisker", "move", "clipped", "web"]


@dataclass(frozen=True, slots=True)
class Column:
    """One roll's column: operator end of the bar at `origin`, drive end `length` points on.

    `lean` is points at the drive end per mm/m, `reach` the most a bar may lean, `width` that of the column,
    `ends` the letters of the operator and the drive end. `marks` takes down what was drawn.
    """

    drawing: Drawing
    name: AspectName
    result: RollResult
    origin: Point
    length: float
    lean: float
    reach: float
    width: float
    ends: tuple[str, str]
    marks: set[Mark] = field(default_factory=set)

    def at(self, along: float, slope_mm_per_m: float = 0.0) -> Point:
        """Return the point `along` (0 operator end, 1 drive end) a bar of that slope, cut at the reach."""
        x, y = self.origin
        lean = along * max(-self.reach, min(self.reach, slope_mm_per_m * self.lean))
        return (
            (x + lean, y + along * self.length)
            if self.name == "parallel"
            else (x + along * self.length, y + lean)
        )


def draw_column(column: Column, verdict: str, move: tuple[Move, str] | None) -> None:
    """Draw all marks of a column; `verdict` as left in words, `move` from as found with its amount."""
    line(column.drawing, column.at(-0.04), column.at(1.04), _TRUE)
    _band(column)
    _states(column)
    if column.name == "level":
        _ends(column)
    if move is not None:
        _moved(column, *move)
    _foot(column, verdict)


def _ends(column: Column) -> None:
    """Letters beyond each end of the bar, at the height of the operator end."""
    (x, y), letter = column.origin, Letter(_LEAST_SIZE, STRONG)
    for at, text in zip((x - _MARK_OUT, x + column.length + _MARK_OUT), column.ends, strict=True):
        label(column.drawing, (at, y - 2.0), text, letter)


def _band(column: Column) -> None:
    """The tolerance about the target: a wedge that opens from the operator end."""
    state = column.result.aspect(column.name).recorded
    if state is None or state.verdict == "reference":
        return
    column.marks.add("band")
    target, limit = state.target_mm_per_m, state.limit_mm_per_m
    corners = [column.at(0.0), column.at(1.0, target - limit), column.at(1.0, target + limit)]
    area(column.drawing, corners, BAND, Stroke(RULE, 0.4))


def _states(column: Column) -> None:
    """As found dashed, as left solid; a roll that was not adjusted keeps its as-found line."""
    aspect = column.result.aspect(column.name)
    if aspect.as_left is None:
        if aspect.as_found is None:
            line(column.drawing, column.at(0.0), column.at(1.0), _UNREAD)
        else:
            _bar(column, aspect.as_found, FOUND)
        if aspect.standing is not None:
            _whisker(column, aspect.standing)
        return
    own = aspect.adjusted or aspect.as_found is None or aspect.as_left.verdict == "reference"
    if aspect.as_found is not None and aspect.as_left.verdict != "reference":
        _bar(column, aspect.as_found, FOUND)
    if own:
        _bar(column, aspect.as_left, LEFT)
    _whisker(column, aspect.as_left)


def _bar(column: Column, state: Measured, stroke: Stroke) -> None:
    end = column.at(1.0, state.slope_mm_per_m)
    column.marks.add("found" if stroke is FOUND else "left")
    line(column.drawing, column.at(0.0), end, stroke)
    if abs(state.slope_mm_per_m * column.lean) > column.reach * 1.0001:
        column.marks.add("clipped")
        cut(column.drawing, end, stroke)


def cut(drawing: Drawing, end: Point, stroke: Stroke) -> None:
    """Draw two short strokes across the end of a bar that is drawn short."""
    x, y = end
    for offset in (-1.2, 1.2):
        start, stop = (x - 2.5, y + offset - 1.5), (x + 2.5, y + offset + 1.5)
        line(drawing, start, stop, Stroke(stroke.colour, 0.7))


def _whisker(column: Column, state: Measured) -> None:
    """The expanded uncertainty at the drive end, across the bar."""
    if state.verdict == "reference":
        return
    column.marks.add("whisker")
    low, high = (column.at(1.0, state.slope_mm_per_m + side * state.U_mm_per_m) for side in (-1.0, 1.0))
    whisker(column.drawing, low, high)


def whisker(drawing: Drawing, low: Point, high: Point) -> None:
    """Draw a line with a tick across each end."""
    line(drawing, low, high, _WHISKER)
    across = (0.0, 1.8) if low[1] == high[1] else (1.8, 0.0)
    for x, y in (low, high):
        line(drawing, (x - across[0], y - across[1]), (x + across[0], y + across[1]), _WHISKER)


def _moved(column: Column, move: Move, text: str) -> None:
    """An arrow beside the bearing that is moved, with the amount."""
    column.marks.add("move")
    sign = 1.0 if move.amount_mm >= -ROUNDING_MM else -1.0
    x, y = column.origin
    if column.name == "parallel":
        level = y + column.length + 6.0 if move.side == "drive" else y - 5.0
        arrow(column.drawing, (x - 5.0 * sign, level), (x + 5.0 * sign, level), _MOVE)
        label(column.drawing, (x, level + 3.0 if move.side == "drive" else level - 7.0), text, Letter(5.8))
    else:
        along = x + column.length + _MARK_OUT if move.side == "drive" else x - _MARK_OUT
        arrow(column.drawing, (along, y + 4.0 * sign), (along, y + 13.0 * sign), _MOVE)
        label(column.drawing, (x + column.length / 2.0, y - column.reach - 3.0), text, Letter(5.8))


def _foot(column: Column, verdict: str) -> None:
    """The roll's id and its verdict as left, made to fit the column."""
    x, _ = column.origin
    centre = x if column.name == "parallel" else x + column.length / 2.0
    for text, y, most, font in ((column.result.id, 8.0, 6.8, STRONG), (verdict, 1.2, 5.8, BODY)):
        shown, size = _fitted(text, column.width - 2.0, most, font)
        label(column.drawing, (centre, y), shown, Letter(size, font))


def _fitted(text: str, room: float, most: float, font: str) -> tuple[str, float]:
    """The text at the size that fits the room, or shortened where that would be too small to read."""
    size = max(_LEAST_SIZE, min(most, most * room / max(width_of(text, font, most), 1.0)))
    return shortened(text, room, font, size), size
