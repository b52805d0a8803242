"""The legend under a plot, in as many columns as the width of the page has room for."""

from collections.abc import Sequence
from typing import Any

from matplotlib.figure import Figure

from certgen.certificate.vector import extent_of

Fit = tuple[int, float]  # columns, and the height in points


def fit_of(handles: Sequence[Any], width: float, size: float) -> Fit:
    """Return the columns of the fewest rows that are within `width`, and their height; points throughout."""
    for rows in range(1, len(handles)):
        columns = -(-len(handles) // rows)
        wide, high = extent_of(_drawn(Figure(dpi=72), handles, columns, size))
        if wide <= width:
            return columns, high
    return 1, extent_of(_drawn(Figure(dpi=72), handles, 1, size))[1]


def legend_below(figure: Figure, handles: Sequence[Any], columns: int, size: float) -> None:
    """Draw the legend at the lower edge of the figure, its text in `size` points."""
    _drawn(figure, handles, columns, size)


def _drawn(figure: Figure, handles: Sequence[Any], columns: int, size: float) -> Any:
    return figure.legend(handles=handles, loc="lower center", ncols=columns, frameon=False, fontsize=size)
