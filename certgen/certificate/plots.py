"""The plot from as found to as left: one row per roll, tolerance band, expanded uncertainty as whiskers."""

from collections.abc import Sequence
from math import inf
from typing import Any

from matplotlib.figure import Figure
from reportlab.graphics.shapes import Drawing

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment, Measured
from certgen.certificate.plot_marks import FIRST, LAST, SIZE, band, dress_rows, mark
from certgen.certificate.plot_numbers import write_numbers
from certgen.certificate.plot_rows import even_rows, panel_title, place_panels, row_names
from certgen.certificate.rounding import UNIT_SETS, UnitSet, fixed, places_for
from certgen.certificate.vector import drawing_of, drawn_alike
from certgen.certificate.wording import Wording

_ROW = 13.0
_HEAD = 50.0
_MOST_ROWS = 40
_BAND = 0.42  # half the height of a tolerance as a share of a row
# Values beyond this many of the largest limit are drawn at the edge, with the value written there.
_MOST_LIMITS = 6.0


@drawn_alike()
def found_left_plot(
    assessment: Assessment, wording: Wording, width: float, most: float = inf
) -> list[Drawing]:
    """Draw the plot; `width` in points, and `most`, which no drawing is higher than.

    Sixty rolls break into several drawings of at most 40 rows.
    """
    names = [name for name in ASPECTS if any(roll.aspect(name).recorded for roll in assessment.rolls)]
    if not names:
        return []
    size = even_rows(len(assessment.rolls), min(_MOST_ROWS, (most - _HEAD) // _ROW))
    starts = range(0, len(assessment.rolls), size)
    return [drawing_of(_figure(assessment, names, slice(s, s + size), wording, width)) for s in starts]


def _figure(
    assessment: Assessment, names: Sequence[AspectName], rows: slice, wording: Wording, width: float
) -> Figure:
    units = UNIT_SETS[assessment.survey.certificate.units][0]
    titles = [panel_title(wording, "plot_axis", name, units.slope.sign) for name in names]
    ids, left = row_names([roll.id for roll in assessment.rolls], width, titles)
    ids = ids[rows]
    height = _HEAD + _ROW * len(ids)
    figure = Figure(figsize=(width / 72.0, height / 72.0), dpi=72)
    axes = figure.subplots(1, len(names), sharey=True, squeeze=False)[0]
    place_panels(figure, left, (14.0, 36.0))
    for axis, name, title in zip(axes, names, titles, strict=True):
        _panel(axis, assessment, name, rows, units)
        write_numbers(axis, wording.digits)
        axis.set_xlabel(title, fontsize=SIZE, labelpad=3)
    _rows_axis(axes[0], ids)
    return figure


def _rows_axis(axis: Any, ids: Sequence[str]) -> None:
    axis.set_yticks(range(len(ids)), labels=ids, fontsize=SIZE)
    axis.set_ylim(len(ids) - 0.4, -0.6)


def _panel(axis: Any, assessment: Assessment, name: AspectName, rows: slice, units: UnitSet) -> None:
    factor = units.slope.per_engine_unit
    edge = _edge(assessment, name) * factor
    axis.set_xlim(-edge, edge)
    axis.axvline(0.0, color="#888888", linewidth=0.6, zorder=1)
    for row, roll in enumerate(assessment.rolls[rows]):
        aspect = roll.aspect(name)
        last = aspect.recorded
        if last is not None and last.verdict != "reference":
            band(axis, row, (0.0, last.limit_mm_per_m * factor), _BAND)
        if aspect.as_found is not None:
            _mark(axis, row - 0.16, aspect.as_found, factor, found=True)
        if aspect.as_left is not None and (aspect.adjusted or aspect.as_found is None):
            _mark(axis, row + 0.16, aspect.as_left, factor, found=False)
    dress_rows(axis)


def _edge(assessment: Assessment, name: AspectName) -> float:
    """Half the width of the panel, mm/m: everything, but not beyond so many limits."""
    states = [
        state
        for roll in assessment.rolls
        for state in (roll.aspect(name).as_found, roll.aspect(name).as_left)
        if state is not None
    ]
    reach = max(abs(state.error_mm_per_m) + state.U_mm_per_m for state in states)
    limit = max(state.limit_mm_per_m for state in states)
    return 1.06 * max(min(reach, _MOST_LIMITS * limit), 1.2 * limit)


def _mark(axis: Any, row: float, state: Measured, factor: float, *, found: bool) -> None:
    """The state with its U, cut off at the edge of the panel; what lies outside is named there."""
    value, half = state.error_mm_per_m * factor, state.U_mm_per_m * factor
    edge = axis.get_xlim()[1]
    if abs(value) > edge:
        _beyond(axis, row, value, places_for(half), FIRST if found else LAST)
    else:
        ends = (max(value - half, -edge), value, min(value + half, edge))
        mark(axis, row, ends, first=found)


def _beyond(axis: Any, row: float, value: float, places: int, colour: str) -> None:
    """An arrowhead at the edge with the value, for what lies outside the panel."""
    edge = axis.get_xlim()[1]
    right = value > 0.0
    axis.plot(
        [0.985 * edge if right else -0.985 * edge],
        [row],
        marker=">" if right else "<",
        markersize=4,
        color=colour,
    )
    axis.text(
        (0.95 if right else -0.95) * edge,
        row,
        fixed(value, places, signed=True),
        fontsize=SIZE - 1.5,
        ha="right" if right else "left",
        va="center",
        color=colour,
    )
