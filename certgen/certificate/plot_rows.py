"""The names of the rows of a plot, at its left, and of its panels, below them."""

from collections.abc import Sequence
from math import ceil

from matplotlib.figure import Figure

from certgen.assessment.assessment import AspectName
from certgen.certificate.look import BODY, width_of
from certgen.certificate.plot_marks import SIZE
from certgen.certificate.shortened import shortened
from certgen.certificate.wording import Wording

# shares of the width: where the panels begin at the least and at the most, and where they end; what is
# between two of them as a share of one
_LEAST, _MOST, _END, _BETWEEN = 0.07, 0.25, 0.99, 0.06
_GAP = 4.0  # points between name and panel


def row_names(names: Sequence[str], width: float, titles: Sequence[str]) -> tuple[list[str], float]:
    """Return the names as they are drawn, and the share of the width (points) at which the panels begin.

    The panels beside keep the width that their `titles` need.
    """
    most = max(_LEAST, min(_MOST, _END - _panels(titles) / width))
    shown = [shortened(name, most * width - _GAP, BODY, SIZE) for name in names]
    widest = max(width_of(name, BODY, SIZE) for name in shown)
    return shown, max(_LEAST, (widest + _GAP) / width)


def even_rows(count: int, most: float) -> int:
    """Return how many of `count` rows stand in a drawing: in as few as will do, as even as can be."""
    drawings = ceil(count / max(most, 1.0))
    return ceil(count / drawings)


def place_panels(figure: Figure, left: float, edges: tuple[float, float]) -> None:
    """Set panels side by side, from a share of the width on; `edges` are points left free above and below."""
    height = 72.0 * figure.get_figheight()
    above, below = edges
    figure.subplots_adjust(left, below / height, _END, 1.0 - above / height, _BETWEEN)


def panel_title(wording: Wording, key: str, name: AspectName, unit: str) -> str:
    """Return what stands below a panel: what it shows, and on a line of its own what positive means."""
    return f"{wording.word(key, aspect=wording.word(name), unit=unit)}\n{wording.word(f'plus {name}')}"


def _panels(titles: Sequence[str]) -> float:
    """Points that panels side by side need so that their titles keep apart."""
    widest = max(width_of(part, BODY, SIZE) for title in titles for part in title.split("\n")) + _GAP
    return widest * (len(titles) + _BETWEEN * (len(titles) - 1))
