"""The plots of a trend: a small panel for every roll, its error over the years, the tolerance, the drift."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Any

import numpy as np
from matplotlib.figure import Figure
from reportlab.graphics.shapes import Drawing

from certgen.assessment.assessment import AspectName
from certgen.figures.look import STRONG, width_of
from certgen.figures.plot_parts import FIRST, LAST, band_along, drawing_of, drawn_alike, marker
from certgen.figures.shapes import shortened
from certgen.visits.drift import Drift
from certgen.visits.trend import AspectTrend, Point, RollTrend, Trend
from certgen.wording.rounding import UNIT_SETS, Digits, UnitSet, fixed, plain
from certgen.wording.values import joined, run_of
from certgen.wording.wording import Wording

_PANEL, _GAP, _FOOT = 72.0, 11.0, 12.0
_WIDEST_PANEL = 190.0
_MOST_ROWS = 1  # a drawing for every row, so that pages fill
_SIZE, _TITLE = 6.0, 7.0
_BETWEEN = 0.17  # between two panels, as a share of the width of one
# a panel shows so many tolerances either way; what lies further out is marked at its edge
_SHOWN_LIMITS = 2.2
_LEFT_SIDE, _RIGHT_SIDE = 0.055, 0.995
_MOST_TICKS = 7
_FEWEST_JOINED = 3  # rolls that share a panel


@drawn_alike()
def trend_plots(found: Trend, aspect: AspectName, wording: Wording, width: float) -> list[Drawing]:
    """Draw the panels of one aspect; `width` in points. A long line breaks into several drawings."""
    columns = max(2, int(width // _WIDEST_PANEL) + 1)
    named = wording.inline(aspect)  # on every panel, since they run on over the pages
    room = _panel_width(width, columns)
    rolls = [
        (_title(_names(found, some), named, room), [roll.aspect(aspect) for roll in some])
        for some in panels(found, aspect)
    ]
    if not rolls:
        return []
    units = UNIT_SETS[found.surveys[-1].certificate.units][0]
    first, last = found.surveys[0].visit.started, found.surveys[-1].visit.finished
    span = _Span(_year(first), _year(last))
    size = columns * _MOST_ROWS
    parts = [rolls[start : start + size] for start in range(0, len(rolls), size)]
    paper = _Paper(width, columns, units, wording.digits)
    return [drawing_of(_figure(part, span, paper)) for part in parts]


def panels(found: Trend, aspect: AspectName) -> list[list[RollTrend]]:
    """Return the rolls of every panel: each that drifts by itself, then together those that do not drift.

    These share a panel where three or more of them have the same tolerance.
    """
    alone: list[list[RollTrend]] = []
    flat: dict[float | None, list[RollTrend]] = {}
    for roll in found.in_order(aspect):
        one = roll.aspect(aspect)
        if one.drift is None or one.drift.shown or one.drift.unsteady:
            alone.append([roll])
        else:
            flat.setdefault(one.limit_mm_per_m, []).append(roll)
    for some in flat.values():
        alone += [some] if len(some) >= _FEWEST_JOINED else [[roll] for roll in some]
    return alone


def _names(found: Trend, rolls: Sequence[RollTrend]) -> str:
    """The rolls of a panel, those that follow each other in the line as first and last."""
    wanted = {roll.name for roll in rolls}
    runs = groupby(found.rolls, key=lambda roll: roll.name in wanted)
    return joined(name for inside, run in runs if inside for name in run_of([roll.name for roll in run]))


def _panel_width(width: float, columns: int) -> float:
    return width * (_RIGHT_SIDE - _LEFT_SIDE) / (columns + _BETWEEN * (columns - 1))


def _title(name: str, named: str, room: float) -> str:
    """The roll and the aspect over a panel; a long name gives way."""
    rest = width_of(f", {named}", STRONG, _TITLE)
    return f"{shortened(name, room - rest, STRONG, _TITLE)}, {named}"


@dataclass(frozen=True, slots=True)
class _Span:
    """The record in calendar years; the outlook ends as long after it as it reaches back."""

    first: float
    last: float

    @property
    def foretold(self) -> float:
        return 2.0 * self.last - self.first

    @property
    def end(self) -> float:
        """A year is shown at least: visits of one day need an axis, those of few months a year to name."""
        return max(self.foretold, self.first + 1.0)

    @property
    def ticks(self) -> list[int]:
        """The years that begin within, thinned out where they are many."""
        years = range(int(np.ceil(self.first - 0.05)), int(self.end) + 1)
        return [year for year in years if year % max(1, -(-len(years) // _MOST_TICKS)) == 0]


@dataclass(frozen=True, slots=True)
class _Paper:
    width: float
    columns: int
    units: UnitSet
    digits: Digits


def _year(day: date) -> float:
    """A day as a calendar year with its fraction."""
    start = date(day.year, 1, 1)
    return day.year + (day - start).days / (date(day.year + 1, 1, 1) - start).days


def _figure(rolls: Sequence[tuple[str, list[AspectTrend]]], span: _Span, paper: _Paper) -> Figure:
    rows = -(-len(rolls) // paper.columns)
    height = rows * (_PANEL + _GAP) + _FOOT
    figure = Figure(figsize=(paper.width / 72.0, height / 72.0), dpi=72)
    axes = figure.subplots(rows, paper.columns, squeeze=False).ravel()
    figure.subplots_adjust(
        left=_LEFT_SIDE,
        right=_RIGHT_SIDE,
        top=1.0 - _GAP / height,
        bottom=_FOOT / height,
        hspace=2.2 * _GAP / _PANEL,
        wspace=_BETWEEN,
    )
    for axis in axes[len(rolls) :]:
        axis.set_axis_off()
    for axis, (name, some) in zip(axes, rolls, strict=False):
        _panel(axis, some, span, paper.units.slope.per_engine_unit)
        _dress(axis, name, span, paper.digits)
    return figure


def _panel(axis: Any, some: Sequence[AspectTrend], span: _Span, factor: float) -> None:
    """One roll with its U and outlook; of several that do not drift the errors alone."""
    one, edge = some[0], max(map(_edge, some)) * factor
    axis.set_xlim(span.first - 0.04 * (span.end - span.first), span.end)
    axis.set_ylim(-edge, edge)
    if one.limit_mm_per_m is not None:
        band_along(axis, one.limit_mm_per_m * factor)
    axis.axhline(0.0, color="#888888", linewidth=0.4, zorder=1)
    axis.axvline(span.last, color="#888888", linewidth=0.4, linestyle=(0, (1, 2)), zorder=1)
    for each in some:
        _joins(axis, each, factor)
        for point in each.points:
            error = point.slope_mm_per_m - each.target_mm_per_m
            _mark(axis, point, error, factor, alone=len(some) == 1)
    if len(some) > 1:
        return
    if one.drift is not None and one.drift.shown and one.outlook is not None:
        _outlook(axis, one.drift, one, (span, factor))


def _edge(one: AspectTrend) -> float:
    """Half the height of a panel, mm/m."""
    if one.limit_mm_per_m is not None:
        return _SHOWN_LIMITS * one.limit_mm_per_m
    return 1.1 * max(abs(p.slope_mm_per_m - one.target_mm_per_m) + p.U_mm_per_m for p in one.points)


def _joins(axis: Any, one: AspectTrend, factor: float) -> None:
    """A thin line through the points of each stretch."""
    edge = axis.get_ylim()[1]
    for stretch in sorted({point.stretch for point in one.points}):
        points = [point for point in one.points if point.stretch == stretch]
        heights = [factor * (point.slope_mm_per_m - one.target_mm_per_m) for point in points]
        axis.plot(
            [_year(point.day) for point in points],
            np.clip(heights, -edge, edge),
            color="#6B6B6B",
            linewidth=0.5,
            zorder=2,
        )


def _mark(axis: Any, point: Point, error: float, factor: float, *, alone: bool) -> None:
    """A hollow circle as found, a filled square as left; beyond the panel a triangle at its edge."""
    edge, year = axis.get_ylim()[1], _year(point.day)
    value, half = error * factor, point.U_mm_per_m * factor
    found = point.round == "as_found"
    colour = FIRST if found else LAST
    if abs(value) > edge:
        up = value > 0.0
        axis.plot(
            [year], [0.94 * np.sign(value) * edge], marker="^" if up else "v", markersize=3.4, color=colour
        )
        return
    if alone:
        ends = np.clip([value - half, value + half], -edge, edge)
        axis.plot([year, year], ends, color=colour, linewidth=0.8, zorder=3)
    axis.plot([year], [value], **marker(first=found, size=3.0 if alone else 2.2, edge=0.8), zorder=4)


def _outlook(axis: Any, drift: Drift, one: AspectTrend, scale: tuple[_Span, float]) -> None:
    """The drift of the last stretch carried on, with its 95 % bounds, as far as the panel goes."""
    span, factor = scale
    edge = axis.get_ylim()[1]
    last = one.points[-1]
    stretch = [point for point in one.points if point.stretch == last.stretch]
    ahead = np.linspace(_year(stretch[0].day) - _year(last.day), span.foretold - _year(last.day), 60)
    found = np.array([drift.at(drift.origin + years) for years in ahead])
    middle = (found[:, 0] - one.target_mm_per_m) * factor
    half = drift.k * found[:, 1] * factor
    styles = ((0.0, 1.0, "-"), (1.0, 0.6, (0, (3, 2))), (-1.0, 0.6, (0, (3, 2))))
    for side, linewidth, dash in styles:
        line = np.where(np.abs(middle + side * half) <= edge, middle + side * half, np.nan)
        axis.plot(_year(last.day) + ahead, line, color=LAST, linewidth=linewidth, linestyle=dash, zorder=2)


def _dress(axis: Any, name: str, span: _Span, digits: Digits) -> None:
    axis.set_title(name, fontsize=_TITLE, loc="left", pad=2.0, weight="bold")
    axis.set_xticks(span.ticks, labels=[str(year) for year in span.ticks])
    # zero and one round number either way
    edge = axis.get_ylim()[1]
    power = 10.0 ** np.floor(np.log10(edge))
    step = max(one * power for one in (0.1, 0.2, 0.5, 1.0, 2.0, 5.0) if one * power <= 0.8 * edge)
    heights = [-float(fixed(step, 6)), 0.0, float(fixed(step, 6))]
    labels = [digits.written(plain(height, 3)) for height in heights]
    axis.set_yticks(heights, labels=labels)
    axis.tick_params(labelsize=_SIZE, length=2.0, width=0.4, pad=1.5)
    for side, spine in axis.spines.items():
        spine.set_visible(side in {"bottom", "left"})
        spine.set_linewidth(0.4)
