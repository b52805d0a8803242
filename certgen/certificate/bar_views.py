"""Plan and level view: one column per roll in web order, each roll a bar whose skew or tilt is magnified.

In the plan a bar runs across the machine, operator side at the bottom, downstream to the right. In the level
view it runs from the operator side on the left to the drive side on the right, as one sees the line of the
plan looking upstream. Each view names its ends itself, so that nobody has to go by the caption.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from reportlab.graphics.shapes import Drawing

from certgen.assessment.assessment import AspectName, Assessment, RollResult
from certgen.assessment.plan import plan_of
from certgen.certificate.bar_marks import MARK_ROOM, Column, Mark, draw_column
from certgen.certificate.doubt_words import Marks, marked
from certgen.certificate.look import GREY, MM
from certgen.certificate.numbers import small_text
from certgen.certificate.pen import (
    Letter,
    Stroke,
    block_arrow,
    label,
    nice_denominator,
    nice_magnification,
    turned_label,
)
from certgen.certificate.rounding import UNIT_SETS
from certgen.certificate.rows import rows_of
from certgen.certificate.wording import Wording
from certgen.engine.moves import Move
from certgen.engine.travel import SIDES
from certgen.survey.survey import Roll

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
