"""The marks and lines of a reference study's plot, and what each of them means."""

from collections.abc import Mapping
from typing import Any

from matplotlib.lines import Line2D

from certgen.assessment.study import Kind, Study
from certgen.certificate.look import BLUE, INK, ORANGE
from certgen.certificate.plot_marks import web_colour
from certgen.certificate.wording import Wording

# counts, moves and candidates; what stays outside, and the free direction; the present reference
COST, STAY, PRESENT = (web_colour(colour) for colour in (BLUE, ORANGE, INK))
DASHES = (0, (3, 2))
# kind of candidate -> marker, its fill, its size in points
MARKS: Mapping[Kind, tuple[str, str, float]] = {
    "roll": ("s", COST, 3.2),
    "line": ("D", COST, 3.6),
    "free": ("o", "white", 5.0),
}


def study_handles(study: Study, wording: Wording) -> list[Any]:
    """Return a sample of every line and mark of the plot; kinds that do not occur are left out."""
    kinds = {candidate.kind for candidate in study.candidates}
    return [
        _line(wording.word("study_legend_outside"), color=COST, linewidth=1.1),
        _line(wording.word("study_legend_stay"), color=STAY, linewidth=1.1, linestyle=DASHES),
        *(_mark(kind, wording) for kind in MARKS if kind in kinds),
        _line(wording.word("study_legend_present"), color=PRESENT, linewidth=0.6),
    ]


def _line(label: str, **style: Any) -> Line2D:
    return Line2D([], [], label=label, **style)


def _mark(kind: Kind, wording: Wording) -> Line2D:
    shape, fill, size = MARKS[kind]
    return _line(
        wording.word(f"study_legend_{kind}"),
        linestyle="",
        marker=shape,
        markersize=size,
        markerfacecolor=fill,
        markeredgecolor=STAY if kind == "free" else COST,
    )
