"""The plot of a comparison: one row per roll, both moments with U, the tolerance, an arrow for what moved."""

from collections.abc import Sequence
from math import inf
from typing import Any

from matplotlib.figure import Figure
from reportlab.graphics.shapes import Drawing

from certgen.assessment.assessment import ASPECTS, AspectName
from certgen.assessment.comparison import AspectChange, Comparison, RollChange, Stood
from certgen.certificate.plot_marks import BLACK, SIZE, band, dress_rows, mark
from certgen.certificate.plot_numbers import write_numbers
from certgen.certificate.plot_rows import even_rows, panel_title, place_panels, row_names
from certgen.certificate.rounding import UNIT_SETS, UnitSet
from certgen.certificate.vector import drawing_of, drawn_alike
from certgen.certificate.wording import Wording

_ROW, _HEAD = 16.0, 52.0
_BAND = 0.44  # half the height of a tolerance as a share of a row
_MOST_ROWS = 34
# half the height of an arrow's head as a share of a row, and its length as a share of the panel
_WING, _TIP = 0.15, 0.016


@drawn_alike()
def comparison_plot(
    comparison: Comparison, wording: Wording, width: float, most: float = inf
) -> list[Drawing]:
    """Draw the plot; `width` in points. A long line breaks into several drawings, none higher than `most`."""
    names = [name for name in ASPECTS if any(roll.aspect(name).after for roll in comparison.rolls)]
    rolls = [roll for roll in comparison.rolls if any(_seen(roll.aspect(name)) for name in names)]
    if not rolls:
        return []
    size = even_rows(len(rolls), min(_MOST_ROWS, (most - _HEAD) // _ROW))
    units = UNIT_SETS[comparison.after.survey.certificate.units][0]
    parts = [rolls[start : start + size] for start in range(0, len(rolls), size)]
    edges = {name: _edge(rolls, name) for name in names}
    return [drawing_of(_figure(part, edges, units, wording, width)) for part in parts]


def _seen(change: AspectChange) -> list[Stood]:
    return [stood for stood in (change.before, change.after) if stood is not None]


def _figure(
    rolls: Sequence[RollChange],
    edges: dict[AspectName, float],
    units: UnitSet,
    wording: Wording,
    width: float,
) -> Figure:
    sign = units.slope.sign
    titles = [panel_title(wording, "compare_plot_axis", name, sign) for name in edges]
    shown, left = row_names([roll.name for roll in rolls], width, titles)
    figure = Figure(figsize=(width / 72.0, (_HEAD + _ROW * len(rolls)) / 72.0), dpi=72)
    axes = figure.subplots(1, len(edges), sharey=True, squeeze=False)[0]
    place_panels(figure, left, (14.0, 38.0))
    for axis, (name, edge), title in zip(axes, edges.items(), titles, strict=True):
        _panel(axis, [roll.aspect(name) for roll in rolls], edge, units.slope.per_engine_unit)
        write_numbers(axis, wording.digits)
        axis.set_xlabel(title, fontsize=SIZE, labelpad=3)
    axes[0].set_yticks(range(len(rolls)), labels=shown, fontsize=SIZE)
    axes[0].set_ylim(len(rolls) - 0.4, -0.6)
    return figure


def _edge(rolls: Sequence[RollChange], name: AspectName) -> float:
    """Half the width of a panel, mm/m: all slopes with their U, and all tolerances."""
    changes = [roll.aspect(name) for roll in rolls]
    reach = [abs(stood.slope_mm_per_m) + stood.U_mm_per_m for change in changes for stood in _seen(change)]
    bands = [abs(change.target_mm_per_m) + (change.limit_mm_per_m or 0.0) for change in changes]
    return 1.08 * max(*reach, *bands, 1e-3)


def _panel(axis: Any, changes: Sequence[AspectChange], edge: float, factor: float) -> None:
    axis.set_xlim(-edge * factor, edge * factor)
    axis.axvline(0.0, color="#888888", linewidth=0.6, zorder=1)
    for row, change in enumerate(changes):
        if change.limit_mm_per_m is not None and change.outcome != "reference" and _seen(change):
            tolerance = (change.target_mm_per_m * factor, change.limit_mm_per_m * factor)
            band(axis, row, tolerance, _BAND)
        if change.before is not None:
            mark(axis, row - 0.2, _ends(change.before, factor), first=True)
        if change.after is not None:
            mark(axis, row + 0.2, _ends(change.after, factor), first=False)
        if change.outcome == "moved" and change.before is not None and change.after is not None:
            _arrow(axis, row, (change.before.slope_mm_per_m, change.after.slope_mm_per_m), factor)
    dress_rows(axis)


def _ends(stood: Stood, factor: float) -> tuple[float, float, float]:
    value, half = stood.slope_mm_per_m * factor, stood.U_mm_per_m * factor
    return value - half, value, value + half


def _arrow(axis: Any, row: int, ends: tuple[float, float], factor: float) -> None:
    """An arrow from before to after, between the two marks."""
    start, end = (value * factor for value in ends)
    tip = _TIP * (axis.get_xlim()[1] - axis.get_xlim()[0]) * (1.0 if end > start else -1.0)
    axis.plot([start, end - 0.8 * tip], [row, row], color=BLACK, linewidth=0.8, zorder=4)
    back = end - tip
    axis.fill([end, back, back], [row, row - _WING, row + _WING], facecolor=BLACK, linewidth=0.0, zorder=4)
