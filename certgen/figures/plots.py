"""The plots of states: from as found to as left, and from one visit to the next; one row per roll."""

from collections.abc import Sequence
from math import inf
from typing import Any

from matplotlib.figure import Figure
from reportlab.graphics.shapes import Drawing

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment, Measured
from certgen.figures.plot_parts import (
    BLACK,
    FIRST,
    LAST,
    SIZE,
    band,
    drawing_of,
    drawn_alike,
    dress_rows,
    even_rows,
    mark,
    panel_title,
    place_panels,
    row_names,
    write_numbers,
)
from certgen.visits.comparison import AspectChange, Comparison, RollChange, Stood
from certgen.wording.rounding import UNIT_SETS, UnitSet, fixed, places_for
from certgen.wording.wording import Wording

_ROW = 13.0
_HEAD = 50.0
_MOST_ROWS = 40
_BAND = 0.42  # half the height of a tolerance as a share of a row
# Values beyond this many of the largest limit are drawn at the edge, with the value written there.
_MOST_LIMITS = 6.0
_CHANGE_ROW, _CHANGE_HEAD = 16.0, 52.0
_CHANGE_BAND = 0.44  # half the height of a tolerance as a share of a row
_MOST_CHANGES = 34
# half the height of an arrow's head as a share of a row, and its length as a share of the panel
_WING, _TIP = 0.15, 0.016


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


@drawn_alike()
def comparison_plot(
    comparison: Comparison, wording: Wording, width: float, most: float = inf
) -> list[Drawing]:
    """Draw the plot; `width` in points. A long line breaks into several drawings, none higher than `most`."""
    names = [name for name in ASPECTS if any(roll.aspect(name).after for roll in comparison.rolls)]
    rolls = [roll for roll in comparison.rolls if any(_seen(roll.aspect(name)) for name in names)]
    if not rolls:
        return []
    size = even_rows(len(rolls), min(_MOST_CHANGES, (most - _CHANGE_HEAD) // _CHANGE_ROW))
    units = UNIT_SETS[comparison.after.survey.certificate.units][0]
    parts = [rolls[start : start + size] for start in range(0, len(rolls), size)]
    edges = {name: _change_edge(rolls, name) for name in names}
    return [drawing_of(_change_figure(part, edges, units, wording, width)) for part in parts]


def _seen(change: AspectChange) -> list[Stood]:
    return [stood for stood in (change.before, change.after) if stood is not None]


def _change_figure(
    rolls: Sequence[RollChange],
    edges: dict[AspectName, float],
    units: UnitSet,
    wording: Wording,
    width: float,
) -> Figure:
    sign = units.slope.sign
    titles = [panel_title(wording, "compare_plot_axis", name, sign) for name in edges]
    shown, left = row_names([roll.name for roll in rolls], width, titles)
    figure = Figure(figsize=(width / 72.0, (_CHANGE_HEAD + _CHANGE_ROW * len(rolls)) / 72.0), dpi=72)
    axes = figure.subplots(1, len(edges), sharey=True, squeeze=False)[0]
    place_panels(figure, left, (14.0, 38.0))
    for axis, (name, edge), title in zip(axes, edges.items(), titles, strict=True):
        _change_panel(axis, [roll.aspect(name) for roll in rolls], edge, units.slope.per_engine_unit)
        write_numbers(axis, wording.digits)
        axis.set_xlabel(title, fontsize=SIZE, labelpad=3)
    axes[0].set_yticks(range(len(rolls)), labels=shown, fontsize=SIZE)
    axes[0].set_ylim(len(rolls) - 0.4, -0.6)
    return figure


def _change_edge(rolls: Sequence[RollChange], name: AspectName) -> float:
    """Half the width of a panel, mm/m: all slopes with their U, and all tolerances."""
    changes = [roll.aspect(name) for roll in rolls]
    reach = [abs(stood.slope_mm_per_m) + stood.U_mm_per_m for change in changes for stood in _seen(change)]
    bands = [abs(change.target_mm_per_m) + (change.limit_mm_per_m or 0.0) for change in changes]
    return 1.08 * max(*reach, *bands, 1e-3)


def _change_panel(axis: Any, changes: Sequence[AspectChange], edge: float, factor: float) -> None:
    axis.set_xlim(-edge * factor, edge * factor)
    axis.axvline(0.0, color="#888888", linewidth=0.6, zorder=1)
    for row, change in enumerate(changes):
        if change.limit_mm_per_m is not None and change.outcome != "reference" and _seen(change):
            tolerance = (change.target_mm_per_m * factor, change.limit_mm_per_m * factor)
            band(axis, row, tolerance, _CHANGE_BAND)
        if change.before is not None:
            mark(axis, row - 0.2, _ends(change.before, factor), first=True)
        if change.after is not None:
            mark(axis, row + 0.2, _ends(change.after, factor), first=False)
        if change.outcome == "moved" and change.before is not None and change.after is not None:
            # an arrow from before to after, between the two marks
            ends = (change.before.slope_mm_per_m, change.after.slope_mm_per_m)
            start, end = (value * factor for value in ends)
            tip = _TIP * (axis.get_xlim()[1] - axis.get_xlim()[0]) * (1.0 if end > start else -1.0)
            axis.plot([start, end - 0.8 * tip], [row, row], color=BLACK, linewidth=0.8, zorder=4)
            back = end - tip
            axis.fill(
                [end, back, back], [row, row - _WING, row + _WING], facecolor=BLACK, linewidth=0.0, zorder=4
            )
    dress_rows(axis)


def _ends(stood: Stood, factor: float) -> tuple[float, float, float]:
    value, half = stood.slope_mm_per_m * factor, stood.U_mm_per_m * factor
    return value - half, value, value + half
