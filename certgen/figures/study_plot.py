"""The plot of a reference study: rolls outside tolerance and total move, over the reference; its legend."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf
from typing import Any

import numpy as np
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from numpy.typing import NDArray
from reportlab.graphics.shapes import Drawing

from certgen.figures.look import BLUE, INK, ORANGE, STRONG, width_of
from certgen.figures.plot_parts import drawing_of, drawn_alike, fit_of, legend_below, web_colour, write_ticks
from certgen.figures.shapes import shortened, spread
from certgen.reference_study.study import Candidate, Kind, Study, breakpoints, curve
from certgen.wording.rounding import UNIT_SETS, UnitSet
from certgen.wording.wording import Wording

# counts, moves and candidates; what stays outside, and the free direction; the present reference
COST, STAY, PRESENT = (web_colour(colour) for colour in (BLUE, ORANGE, INK))
DASHES = (0, (3, 2))
# kind of candidate -> marker, its fill, its size in points
MARKS: Mapping[Kind, tuple[str, str, float]] = {
    "roll": ("s", COST, 3.2),
    "line": ("D", COST, 3.6),
    "free": ("o", "white", 5.0),
}
_PANEL, _SCALE = 100.0, 39.2  # the scale below with its name
_SIZE = 7.0
_LABEL = 6.0
_LABEL_GAP = 7.5
_MOST_LABEL = 90.0  # points of a name over its mark
# Beyond so many candidates only the cheapest, the present one and the free direction are labelled.
_MOST_LABELS = 40
_LEADER = 0.34  # share of the labels' band that the leaders take
_LEFT, _RIGHT = 0.075, 0.985

Array = NDArray[np.float64]


def study_handles(study: Study, wording: Wording) -> list[Any]:
    """Return a sample of every line and mark of the plot; kinds that do not occur are left out."""
    kinds = {candidate.kind for candidate in study.candidates}
    return [
        _line(wording.word("study_legend_outside"), color=COST, linewidth=1.1),
        _line(wording.word("study_legend_stay"), color=STAY, linewidth=1.1, linestyle=DASHES),
        *(_legend_mark(kind, wording) for kind in MARKS if kind in kinds),
        _line(wording.word("study_legend_present"), color=PRESENT, linewidth=0.6),
    ]


def _line(label: str, **style: Any) -> Line2D:
    return Line2D([], [], label=label, **style)


def _legend_mark(kind: Kind, wording: Wording) -> Line2D:
    shape, fill, size = MARKS[kind]
    return _line(
        wording.word(f"study_legend_{kind}"),
        linestyle="",
        marker=shape,
        markersize=size,
        markerfacecolor=fill,
        markeredgecolor=STAY if kind == "free" else COST,
    )


@drawn_alike()
def study_plot(study: Study, wording: Wording, width: float, most: float = inf) -> Drawing:
    """Draw the plot; `width` in points, and `most`, which it is not higher than: its panels give way."""
    band, handles = _band_height(study, wording), study_handles(study, wording)
    columns, high = fit_of(handles, width, _LABEL)
    bottom = _SCALE + high
    panel = min(_PANEL, (most - band - bottom) / 2.0)
    height = band + 2 * panel + bottom
    figure = Figure(figsize=(width / 72.0, height / 72.0), dpi=72)
    ratios = {"height_ratios": (band, panel, panel)}
    labels, rolls, moves = figure.subplots(3, 1, sharex=True, gridspec_kw=ratios)
    figure.subplots_adjust(left=_LEFT, right=_RIGHT, top=1.0, bottom=bottom / height, hspace=0.08)
    scale = _Scale.of(study)
    _rolls(rolls, study, scale)
    _moves(moves, study, scale)
    _labels(labels, study, (scale, wording, width))
    _dress((labels, rolls, moves), study, scale)
    write_ticks(moves, wording.digits)
    _name((rolls, moves), scale, wording)
    legend_below(figure, handles, columns, _LABEL)
    return drawing_of(figure)


@dataclass(frozen=True, slots=True)
class _Scale:
    """The units of the page, and the directions shown, mm/m."""

    units: UnitSet
    low: float
    high: float

    @classmethod
    def of(cls, study: Study) -> "_Scale":
        """Everything the candidates point to, with room of the widest tolerance beside it."""
        places = [candidate.direction_mm_per_m for candidate in study.candidates]
        widest = max((stand.half_width_mm_per_m for stand in study.stands), default=0.0)
        room = max(1.2 * widest, 0.05 * (max(places) - min(places)), 0.01)
        return cls(UNIT_SETS[study.survey.certificate.units][0], min(places) - room, max(places) + room)

    def shown(self, mm_per_m: Any) -> Any:
        """Return directions in the unit of the page."""
        return mm_per_m * self.units.slope.per_engine_unit

    def cells(self, study: Study) -> tuple[Array, Array]:
        """Return the ends of the stretches between breakpoints."""
        inner = [place for place in breakpoints(study.stands) if self.low < place < self.high]
        places = np.array([self.low, *inner, self.high])
        return places[:-1], places[1:]


def _rolls(axis: Any, study: Study, scale: _Scale) -> None:
    """Two step curves: rolls outside, and of these those that stay outside."""
    low, high = scale.cells(study)
    found = curve(study.stands, (low + high) / 2.0)
    ends = scale.shown(np.column_stack([low, high]).ravel())
    axis.plot(ends, np.repeat(found.outside, 2), color=COST, linewidth=1.1)
    axis.plot(ends, np.repeat(found.stuck, 2), color=STAY, linewidth=1.1, linestyle=DASHES)
    for candidate in reversed(study.candidates):
        _mark(axis, scale, candidate, len(candidate.cost.outside))
    axis.set_ylim(-0.06 * len(study.stands), 1.08 * max(len(study.stands), 1))


def _moves(axis: Any, study: Study, scale: _Scale) -> None:
    """The total move: straight between breakpoints, where it may jump."""
    low, high = scale.cells(study)
    first, second = (curve(study.stands, low + share * (high - low)).total_move_mm for share in (0.25, 0.75))
    slope = 2.0 * (second - first)
    left, right = first - 0.25 * slope, second + 0.25 * slope
    factor = scale.units.small.per_engine_unit
    total = factor * np.column_stack([left, right]).ravel()
    axis.plot(scale.shown(np.column_stack([low, high]).ravel()), total, color=COST, linewidth=1.1)
    for candidate in reversed(study.candidates):
        _mark(axis, scale, candidate, factor * candidate.cost.total_move_mm)
    most = max(total.max(), *(factor * candidate.cost.total_move_mm for candidate in study.candidates))
    axis.set_ylim(-0.06 * (most or 1.0), 1.08 * (most or 1.0))


def _mark(axis: Any, scale: _Scale, candidate: Candidate, height: float) -> None:
    shape, fill, size = MARKS[candidate.kind]
    edge = STAY if candidate.kind == "free" else PRESENT if candidate.present else COST
    axis.plot(
        [scale.shown(candidate.direction_mm_per_m)],
        [height],
        marker=shape,
        markersize=size,
        markerfacecolor=fill,
        markeredgecolor=edge,
        markeredgewidth=1.0,
        zorder=4 if candidate.kind == "free" else 3,
    )


def _band_height(study: Study, wording: Wording) -> float:
    """The height of the labels' band in points: the longest name above its leader."""
    longest = max(width_of(_label(one, wording), STRONG, _LABEL) for one in study.candidates)
    return 14.0 + longest / (1.0 - _LEADER)


def _labels(axis: Any, study: Study, means: tuple[_Scale, Wording, float]) -> None:
    """Names over the marks, kept apart, each with a leader to its direction."""
    scale, wording, width = means
    named = [
        one for i, one in enumerate(study.candidates) if i < _MOST_LABELS or one.present or one.kind == "free"
    ]
    named.sort(key=lambda one: (one.direction_mm_per_m, one.kind))
    low, high = scale.shown(scale.low), scale.shown(scale.high)
    per_point = (high - low) / (width * (_RIGHT - _LEFT))
    places = [scale.shown(one.direction_mm_per_m) for one in named]
    for one, place, at in zip(named, places, spread(places, _LABEL_GAP * per_point, low, high), strict=True):
        axis.plot([place, place, at], [0.0, 0.2 * _LEADER, 0.88 * _LEADER], color="#888888", linewidth=0.4)
        weight = "bold" if one.present else "normal"
        axis.text(
            at,
            _LEADER,
            _label(one, wording),
            fontsize=_LABEL,
            rotation=90,
            ha="center",
            va="bottom",
            weight=weight,
        )
    axis.set_ylim(0.0, 1.0)
    axis.set_axis_off()


def _label(candidate: Candidate, wording: Wording) -> str:
    marks = {"free": wording.word("study_mark_free"), "line": wording.word("study_mark_line")}
    name = marks.get(candidate.kind, shortened(str(candidate.id), _MOST_LABEL, STRONG, _LABEL))
    return wording.word("study_mark_present", name=name) if candidate.present else name


def _dress(axes: tuple[Any, Any, Any], study: Study, scale: _Scale) -> None:
    axes[0].set_xlim(scale.shown(scale.low), scale.shown(scale.high))
    for axis in axes[1:]:
        axis.axvline(scale.shown(study.present.direction_mm_per_m), color=PRESENT, linewidth=0.6, zorder=1)
        axis.tick_params(labelsize=_SIZE, length=2.0, width=0.5, pad=2.0)
        axis.grid(visible=True, axis="y", color="#E4E9EF", linewidth=0.6)
        axis.set_axisbelow(True)
        for side, spine in axis.spines.items():
            spine.set_visible(side in {"bottom", "left"})
            spine.set_linewidth(0.5)
    axes[1].yaxis.get_major_locator().set_params(integer=True)
    axes[1].tick_params(axis="x", length=0, labelbottom=False)


def _name(axes: tuple[Any, Any], scale: _Scale, wording: Wording) -> None:
    rolls, moves = axes
    style = {"fontsize": _SIZE, "labelpad": 3}
    rolls.set_ylabel(wording.word("study_axis_rolls"), **style)
    moves.set_ylabel(wording.word("study_axis_move", unit=scale.units.small.sign), **style)
    across = wording.word(
        "study_axis_direction", unit=scale.units.slope.sign, plus=wording.word("plus parallel")
    )
    moves.set_xlabel(across, **style)
