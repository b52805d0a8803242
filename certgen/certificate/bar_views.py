"""Plan and level view: one column per roll in web order, each roll a bar whose skew or tilt is magnified.

In the plan a bar runs across the machine, operator side at the bottom, and leans downstream to the right;
in the level view it runs from the operator side on the left to the drive side on the right and leans up.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from reportlab.graphics.shapes import Drawing

from certgen.assessment.assessment import AspectName, Assessment, Measured, RollResult
from certgen.certificate.look import BAND, BLUE, GREY, MM, ORANGE, RULE, STRONG, width_of
from certgen.certificate.numbers import small_text
from certgen.certificate.pen import (
    Point,
    Stroke,
    area,
    arrow,
    label,
    line,
    nice_denominator,
    nice_magnification,
    turned_label,
)
from certgen.certificate.rounding import UnitSet
from certgen.certificate.wording import Wording
from certgen.survey.survey import Roll, Survey

_MOST_COLUMNS = 14
_MOST_COLUMN_WIDTH = 30.0 * MM
_LEFT = 7.0 * MM
_PLAN_BAR = 40.0 * MM
_FOUND = Stroke(ORANGE, 1.0, (3.0, 2.0))
_LEFT_STATE = Stroke(BLUE, 1.5)
# A lean beyond this many limits is drawn short, so that one bad roll does not flatten all others.
_MOST_LIMITS = 8.0


@dataclass(frozen=True, slots=True)
class BarView:
    """One row of columns: the drawing, the rolls it shows, and its scale and magnification."""

    name: AspectName
    drawing: Drawing
    first: str
    last: str
    scale: int
    magnification: float


@dataclass(frozen=True, slots=True)
class _Scale:
    """`per_mm`: points per millimetre across the machine; `lean`: points per (mm/m times mm of face)."""

    denominator: int
    magnification: float

    @property
    def per_mm(self) -> float:
        return MM / self.denominator

    def lean(self, slope_mm_per_m: float, face_mm: float) -> float:
        return slope_mm_per_m / 1000.0 * face_mm * self.per_mm * self.magnification


@dataclass(frozen=True, slots=True)
class _Column:
    """One roll's column: its centre line at `x`, operator end at (x, y) of the bar, drive end `length` on."""

    drawing: Drawing
    name: AspectName
    origin: Point
    length: float
    reach: float

    def at(self, along: float, lean: float) -> Point:
        """Return the point `along` (0 operator end, 1 drive end) the bar, leaning by `lean` points there."""
        x, y = self.origin
        lean = max(-self.reach, min(self.reach, lean))
        return (
            (x + lean, y + along * self.length)
            if self.name == "parallel"
            else (x + along * self.length, y + lean)
        )


def bar_views(
    assessment: Assessment, name: AspectName, wording: Wording, units: UnitSet, width: float
) -> list[BarView]:
    """Draw the plan (parallel) or the level view, in rows of at most 14 rolls; `width` in points."""
    if all(roll.aspect(name).as_left is None for roll in assessment.rolls):
        return []
    rows = _rows(assessment.rolls)
    column_width = min((width - _LEFT) / max(len(row) for row in rows), _MOST_COLUMN_WIDTH)
    scale = _scale(assessment, name, column_width)
    return [_row(assessment, name, row, (scale, column_width, width), (wording, units)) for row in rows]


def _rows(rolls: Sequence[RollResult]) -> list[Sequence[RollResult]]:
    count = -(-len(rolls) // _MOST_COLUMNS)
    size = -(-len(rolls) // count)
    return [rolls[start : start + size] for start in range(0, len(rolls), size)]


def _bar_length(name: AspectName, column_width: float) -> float:
    return _PLAN_BAR if name == "parallel" else column_width * 0.72


def _reach(name: AspectName, column_width: float) -> float:
    return column_width * 0.42 if name == "parallel" else 9.0 * MM


def _scale(assessment: Assessment, name: AspectName, column_width: float) -> _Scale:
    """The bars fill their columns; the largest lean that is to be shown in full reaches its neighbour."""
    widest = max(roll.face_mm for roll in assessment.survey.rolls)
    denominator = nice_denominator(widest * MM / _bar_length(name, column_width))
    largest = max((lean for lean in _leans(assessment, name)), default=0.0)
    per_unit = _Scale(denominator, 1.0).lean(largest, 1.0)
    return _Scale(denominator, nice_magnification(_reach(name, column_width) / per_unit) if per_unit else 1.0)


def _leans(assessment: Assessment, name: AspectName) -> Iterable[float]:
    """Slope times face of everything drawn, but not beyond so many limits."""
    for roll, result in zip(assessment.survey.rolls, assessment.rolls, strict=True):
        for state in (result.aspect(name).as_found, result.aspect(name).as_left):
            if state is not None:
                most = _MOST_LIMITS * state.limit_mm_per_m
                slopes = (abs(state.slope_mm_per_m), abs(state.target_mm_per_m) + state.limit_mm_per_m)
                yield min(max(slopes), max(most, slopes[1])) * roll.face_mm


def _row(
    assessment: Assessment,
    name: AspectName,
    results: Sequence[RollResult],
    sizes: tuple[_Scale, float, float],
    means: tuple[Wording, UnitSet],
) -> BarView:
    scale, column_width, width = sizes
    below, above = (24.0, 22.0) if name == "parallel" else (_reach(name, column_width) + 18.0, 0.0)
    across = _PLAN_BAR if name == "parallel" else _reach(name, column_width) + 4.0
    drawing = Drawing(width, below + across + above)
    _sides(drawing, name, below, means[0])
    rolls = {roll.id: roll for roll in assessment.survey.rolls}
    for index, result in enumerate(results):
        left = _LEFT + index * column_width
        _column(
            drawing,
            assessment.survey,
            (rolls[result.id], result),
            (name, left, column_width, below, scale),
            means,
        )
    return BarView(name, drawing, results[0].id, results[-1].id, scale.denominator, scale.magnification)


def _sides(drawing: Drawing, name: AspectName, below: float, wording: Wording) -> None:
    """Name the two ends of the bars; the level view does so in its caption line under the first bar."""
    if name == "parallel":
        turned_label(drawing, (6.0, below + 9.0 * MM), wording.word("operator_end"))
        turned_label(drawing, (6.0, below + _PLAN_BAR - 7.0 * MM), wording.word("drive_end"))
    else:
        turned_label(drawing, (6.0, below), wording.word("level").lower())


def _column(
    drawing: Drawing,
    survey: Survey,
    of: tuple[Roll, RollResult],
    place: tuple[AspectName, float, float, float, _Scale],
    means: tuple[Wording, UnitSet],
) -> None:
    (roll, result), (name, left, width, below, scale) = of, place
    length = roll.face_mm * scale.per_mm
    origin = (left + width / 2.0, below) if name == "parallel" else (left + (width - length) / 2.0, below)
    column = _Column(drawing, name, origin, length, _reach(name, width))
    _true_line(column)
    aspect = result.aspect(name)
    if aspect.as_left is not None:
        _band(column, aspect.as_left, scale.lean(1.0, roll.face_mm))
    _states(column, result, scale.lean(1.0, roll.face_mm))
    _move(column, result, means)
    _foot(column, result, (left + width / 2.0, width), means[0])


def _true_line(column: _Column) -> None:
    line(column.drawing, column.at(-0.04, 0.0), column.at(1.04, 0.0), Stroke(RULE, 0.5, (1.0, 1.5)))


def _band(column: _Column, state: Measured, unit_lean: float) -> None:
    """The tolerance about the target: a wedge that opens from the operator end."""
    target, limit = state.target_mm_per_m * unit_lean, state.limit_mm_per_m * unit_lean
    corners = [column.at(0.0, 0.0), column.at(1.0, target - limit), column.at(1.0, target + limit)]
    if state.verdict != "reference":
        area(column.drawing, corners, BAND, Stroke(RULE, 0.4))


def _states(column: _Column, result: RollResult, unit_lean: float) -> None:
    aspect = result.aspect(column.name)
    if aspect.as_found is not None and aspect.adjusted:
        _bar(column, aspect.as_found, unit_lean, _FOUND)
    if aspect.as_left is not None:
        _bar(
            column,
            aspect.as_left,
            unit_lean,
            _LEFT_STATE if aspect.adjusted or _fixed(aspect.verdict("as_left")) else _FOUND,
        )
        _whisker(column, aspect.as_left, unit_lean)
    else:
        line(column.drawing, column.at(0.0, 0.0), column.at(1.0, 0.0), Stroke(GREY, 0.8, (0.5, 2.5)))


def _fixed(verdict: str) -> bool:
    return verdict == "reference"


def _bar(column: _Column, state: Measured, unit_lean: float, stroke: Stroke) -> None:
    lean = state.slope_mm_per_m * unit_lean
    end = column.at(1.0, lean)
    line(column.drawing, column.at(0.0, 0.0), end, stroke)
    if abs(lean) > column.reach * 1.0001:
        _cut(column, end, stroke)


def _cut(column: _Column, end: Point, stroke: Stroke) -> None:
    """Two short strokes across the end of a bar that is drawn short."""
    x, y = end
    for offset in (-1.2, 1.2):
        line(
            column.drawing,
            (x - 2.5, y + offset - 1.5),
            (x + 2.5, y + offset + 1.5),
            Stroke(stroke.colour, 0.7),
        )


def _whisker(column: _Column, state: Measured, unit_lean: float) -> None:
    """The expanded uncertainty at the drive end, across the lean."""
    if state.verdict == "reference":
        return
    lean, half = state.slope_mm_per_m * unit_lean, state.U_mm_per_m * unit_lean
    low, high = column.at(1.0, lean - half), column.at(1.0, lean + half)
    line(column.drawing, low, high, Stroke(BLUE, 0.6))
    for end in (low, high):
        tick = (0.0, 1.8) if column.name == "parallel" else (1.8, 0.0)
        line(
            column.drawing,
            (end[0] - tick[0], end[1] - tick[1]),
            (end[0] + tick[0], end[1] + tick[1]),
            Stroke(BLUE, 0.6),
        )


def _move(column: _Column, result: RollResult, means: tuple[Wording, UnitSet]) -> None:
    """The bearing and the move that the state as found calls for, where it did not pass."""
    aspect = result.aspect(column.name)
    move = aspect.moves.get("as_found")
    if move is None or aspect.verdict("as_found") == "pass":
        return
    text = small_text(means[1], move.amount_mm)
    sign = 1.0 if move.amount_mm >= 0.0 else -1.0
    if column.name == "parallel":
        _sideways(column, text, sign, top=move.side == "drive")
    else:
        _upright(column, text, sign, right=move.side == "drive")


def _sideways(column: _Column, text: str, sign: float, *, top: bool) -> None:
    x, y = column.origin
    level = y + column.length + 6.0 if top else y - 5.0
    arrow(column.drawing, (x - 5.0 * sign, level), (x + 5.0 * sign, level), Stroke(GREY, 0.7))
    label(column.drawing, (x, level + 3.0 if top else level - 7.0), text, 5.8)


def _upright(column: _Column, text: str, sign: float, *, right: bool) -> None:
    x, y = column.origin
    along = x + column.length + 2.5 if right else x - 2.5
    start, end = (y - 5.0 * sign, y + 5.0 * sign)
    arrow(column.drawing, (along, start), (along, end), Stroke(GREY, 0.7))
    centre = x + column.length / 2.0
    label(column.drawing, (centre, y - column.reach - 2.0), text, 5.8)


def _foot(column: _Column, result: RollResult, at: tuple[float, float], wording: Wording) -> None:
    """The roll's id and, where there is room, its verdict as left."""
    centre, width = at
    label(column.drawing, (centre, 7.5), result.id, 6.5, font=STRONG)
    verdict = wording.word(result.aspect(column.name).verdict("as_left"))
    size = min(5.6, 5.6 * (width - 2.0) / max(width_of(verdict, STRONG, 5.6), 1.0))
    label(column.drawing, (centre, 1.0), verdict, size)
