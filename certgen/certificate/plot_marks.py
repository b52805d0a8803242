"""What the plots have in common: colours, the marks of the earlier and the later state, tolerance bands."""

from typing import Any

from matplotlib.patches import Rectangle
from reportlab.lib.colors import Color

from certgen.certificate.look import BAND, BLUE, INK, ORANGE, RULE

SIZE = 7.0


def web_colour(colour: Color) -> str:
    """Return a colour as #rrggbb."""
    return str(colour.hexval()).replace("0x", "#")


FIRST, LAST, BLACK = (web_colour(colour) for colour in (ORANGE, BLUE, INK))
_BAND: dict[str, Any] = {"facecolor": web_colour(BAND), "edgecolor": web_colour(RULE)}


def marker(*, first: bool, size: float = 3.4, edge: float = 0.9) -> dict[str, Any]:
    """Return the style of a mark: a hollow circle for the first of two states, a filled square for the last.

    `size` and the width of its `edge` are in points.
    """
    colour = FIRST if first else LAST
    return {
        "marker": "o" if first else "s",
        "markersize": size,
        "markerfacecolor": "white" if first else colour,
        "markeredgecolor": colour,
        "markeredgewidth": edge,
    }


def mark(axis: Any, row: float, ends: tuple[float, float, float], *, first: bool) -> None:
    """Draw a state across a row, from `ends` (low, value, high); the whisker of the first is dashed."""
    low, value, high = ends
    colour, dash = (FIRST, (0, (3, 2))) if first else (LAST, "-")
    axis.plot([low, high], [row, row], color=colour, linewidth=0.9, linestyle=dash, zorder=3)
    axis.plot([value], [row], **marker(first=first), zorder=5)


def band(axis: Any, row: int, tolerance: tuple[float, float], half: float) -> None:
    """Draw a tolerance (target, limit) behind a row, `half` its height either way."""
    target, limit = tolerance
    axis.add_patch(Rectangle((target - limit, row - half), 2 * limit, 2 * half, lw=0.4, **_BAND))


def band_along(axis: Any, limit: float) -> None:
    """Draw a tolerance about zero behind a whole panel."""
    axis.axhspan(-limit, limit, linewidth=0.4, zorder=0, **_BAND)


def dress_rows(axis: Any) -> None:
    """Leave of a frame about rows only the scale below."""
    axis.tick_params(labelsize=SIZE, length=2.0, width=0.5, pad=2.0)
    axis.tick_params(axis="y", length=0)
    for side, spine in axis.spines.items():
        spine.set_visible(side == "bottom")
        spine.set_linewidth(0.5)
