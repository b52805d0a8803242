"""Plan and level view: one column per roll in web order, each roll a bar whose skew or tilt is magnified.

A bar starts at the operator end and its drive end leans: downstream to the right in the plan, up in the
level view.

In the plan a bar runs across the machine, operator side at the bottom, downstream to the right. In the level
view it runs from the operator side on the left to the drive side on the right, as one sees the line of the
plan looking upstream. Each view names its ends itself, so that nobody has to go by the caption.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal

from reportlab.graphics.shapes import Drawing

from certgen.assessment.assessment import AspectName, Assessment, Measured, RollResult
from certgen.document.doubt_words import Marks, marked
from certgen.figures.look import BAND, BLUE, BODY, GREY, MM, ORANGE, RULE, STRONG, width_of
from certgen.figures.shapes import (
    Letter,
    Point,
    Stroke,
    area,
    arrow,
    block_arrow,
    label,
    line,
    nice_denominator,
    nice_magnification,
    rows_of,
    shortened,
    turned_label,
)
from certgen.moves.plan import plan_of
from certgen.moves.steps import ROUNDING_MM, SIDES, Move
from certgen.survey.survey import Roll
from certgen.wording.rounding import UNIT_SETS
from certgen.wording.values import small_text
from certgen.wording.wording import Wording

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
_MOST_COLUMN_WIDTH = 34.0 * MM
_LEFT = 6.0 * MM
_PLAN_BAR = 46.0 * MM
_LEVEL_REACH = 11.0 * MM
_FOOT = 17.0
_KEY = 10.0  # a line at the top that says which way is which
_KEY_SIZE = 6.0
# how far the names of the ends reach beyond the bars of the plan: the two are longer than a short bar
_BEYOND = 14.0
# A lean beyond this many limits is drawn short, so that one bad roll does not flatten all others.
_MOST_LIMITS = 5.0


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
        # letters beyond each end of the bar, at the height of the operator end
        (x, y), letter = column.origin, Letter(_LEAST_SIZE, STRONG)
        for at, text in zip((x - _MARK_OUT, x + column.length + _MARK_OUT), column.ends, strict=True):
            label(column.drawing, (at, y - 2.0), text, letter)
    if move is not None:
        _moved(column, *move)
    _foot(column, verdict)


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


@dataclass(frozen=True, slots=True)
class BarView:
    """One row of columns: the drawing, the rolls it shows, its scale and magnification, and its marks."""

    name: AspectName
    drawing: Drawing
    first: str
    last: str
    scale: int
    magnification: float
    marks: frozenset[Mark]


@dataclass(frozen=True, slots=True)
class _Layout:
    """What all columns of a view share; lengths in points."""

    assessment: Assessment
    name: AspectName
    wording: Wording
    width: float
    column_width: float
    denominator: int
    magnification: float
    doubtful: Marks

    @property
    def reach(self) -> float:
        return _reach(self.name, self.column_width)

    @property
    def longest(self) -> float:
        return max(roll.face_mm for roll in self.assessment.survey.rolls) * MM / self.denominator

    def lean(self, roll: Roll) -> float:
        """Points at the drive end per mm/m of slope."""
        return roll.face_mm / 1000.0 * MM / self.denominator * self.magnification


def bar_views(assessment: Assessment, name: AspectName, wording: Wording, width: float) -> list[BarView]:
    """Draw the plan (parallel) or the level view, in rows of at most 14 rolls; `width` in points."""
    if all(roll.aspect(name).recorded is None for roll in assessment.rolls):
        return []
    rows = rows_of(assessment.rolls)
    column_width = min((width - _LEFT) / max(len(row) for row in rows), _MOST_COLUMN_WIDTH)
    scale = _scale(assessment, name, column_width)
    layout = _Layout(assessment, name, wording, width, column_width, *scale, marked(assessment, name))
    return [_row(layout, row) for row in rows]


def _reach(name: AspectName, column_width: float) -> float:
    return column_width * 0.44 if name == "parallel" else _LEVEL_REACH


def _scale(assessment: Assessment, name: AspectName, column_width: float) -> tuple[int, float]:
    """The longest bar fills its place; the largest lean to be shown in full fills the reach."""
    place = _PLAN_BAR if name == "parallel" else min(column_width * 0.74, column_width - 2.0 * MARK_ROOM)
    widest = max(roll.face_mm for roll in assessment.survey.rolls)
    denominator = nice_denominator(widest * MM / place)
    largest = max(_leans(assessment, name)) / 1000.0 * MM / denominator
    return denominator, nice_magnification(_reach(name, column_width) / largest) if largest else 1.0


def _leans(assessment: Assessment, name: AspectName) -> Iterator[float]:
    """Slope times face (µm) of all that is drawn, cut at so many limits."""
    for roll, result in zip(assessment.survey.rolls, assessment.rolls, strict=True):
        for state in (result.aspect(name).as_found, result.aspect(name).as_left):
            if state is not None:
                band = abs(state.target_mm_per_m) + state.limit_mm_per_m
                most = max(_MOST_LIMITS * state.limit_mm_per_m, band)
                yield min(max(abs(state.slope_mm_per_m), band), most) * roll.face_mm


def _row(layout: _Layout, results: Sequence[RollResult]) -> BarView:
    below, above = _margins(layout, results)
    across = layout.longest if layout.name == "parallel" else 3.0
    drawing = Drawing(layout.width, below + across + above)
    _name_ends(layout, drawing, below)
    rolls = {roll.id: roll for roll in layout.assessment.survey.rolls}
    marks: set[Mark] = set()
    for index, result in enumerate(results):
        column = _column(
            layout, drawing, (rolls[result.id], result), (_LEFT + index * layout.column_width, below)
        )
        draw_column(column, _verdict(layout, result), _labelled(layout, _move(layout, result)))
        marks |= column.marks
    ends = (results[0].id, results[-1].id)
    return BarView(layout.name, drawing, *ends, layout.denominator, layout.magnification, frozenset(marks))


def _margins(layout: _Layout, results: Sequence[RollResult]) -> tuple[float, float]:
    """Room below and above the bars, for names, arrows and leans."""
    if layout.name == "level":
        return _FOOT + 9.0 + layout.reach, layout.reach + _KEY
    moves = [_move(layout, result) for result in results]
    operator = any(move is not None and move.side == "operator" for move in moves)
    return _FOOT + (15.0 if operator else 4.0), 17.0 + _KEY


def _name_ends(layout: _Layout, drawing: Drawing, below: float) -> None:
    """Say in the drawing which end is which, and in the plan which way downstream is."""
    word, y = layout.wording.word, drawing.height - _KEY_SIZE
    if layout.name == "level":
        ends = (word("titled", title=word(f"{side}_mark"), text=word(f"{side}_end")) for side in SIDES)
        label(drawing, (_LEFT, y), "    ".join(ends), Letter(_KEY_SIZE, anchor="start"))
        return
    block_arrow(drawing, (_LEFT, y + 2.0), 14.0, Stroke(GREY, 0.6))
    label(drawing, (_LEFT + 18.0, y), word("downstream"), Letter(_KEY_SIZE, anchor="start"))
    turned_label(drawing, (8.0, below - _BEYOND), word("operator_end"), Letter(_KEY_SIZE, anchor="start"))
    top = below + layout.longest + _BEYOND
    turned_label(drawing, (8.0, top), word("drive_end"), Letter(_KEY_SIZE, anchor="end"))


def _column(
    layout: _Layout, drawing: Drawing, of: tuple[Roll, RollResult], corner: tuple[float, float]
) -> Column:
    (roll, result), (left, below) = of, corner
    length = roll.face_mm * MM / layout.denominator
    middle = left + layout.column_width / 2.0
    x = middle if layout.name == "parallel" else middle - length / 2.0
    return Column(
        drawing=drawing,
        name=layout.name,
        result=result,
        origin=(x, below),
        length=length,
        lean=layout.lean(roll),
        reach=layout.reach,
        width=layout.column_width,
        ends=(layout.wording.word("operator_mark"), layout.wording.word("drive_mark")),
    )


def _verdict(layout: _Layout, result: RollResult) -> str:
    """The verdict as left; in doubt, it is not to be read from a drawing."""
    doubtful = (result.id, layout.assessment.last_round) in layout.doubtful
    return layout.wording.word("in_doubt" if doubtful else result.aspect(layout.name).standing_verdict)


def _move(layout: _Layout, result: RollResult) -> Move | None:
    """The move that the state as found calls for, where it did not pass; none where it is in doubt."""
    plan = plan_of(layout.assessment).by_roll[result.id].found.get(layout.name)
    return plan.move if plan is not None and plan.needed and not plan.held else None


def _labelled(layout: _Layout, move: Move | None) -> tuple[Move, str] | None:
    """A move with its amount in the first unit of the page."""
    if move is None:
        return None
    units = UNIT_SETS[layout.assessment.survey.certificate.units][0]
    return move, layout.wording.digits.written(small_text(units, move.amount_mm))
