"""What the plots have in common: a renderer into reportlab shapes, marks, rows, legends, digits."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from math import ceil
from typing import Any

import matplotlib
import numpy as np
from matplotlib.backend_bases import GraphicsContextBase, RendererBase
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.patches import Rectangle
from matplotlib.path import Path as PlotPath
from matplotlib.ticker import ScalarFormatter
from matplotlib.transforms import Transform
from reportlab.graphics.shapes import Drawing, Group, Path, String
from reportlab.lib.colors import Color

from certgen.assessment.assessment import AspectName
from certgen.figures.look import BAND, BLUE, BODY, INK, ORANGE, RULE, STRONG, load_fonts, width_of
from certgen.figures.shapes import shortened
from certgen.wording.rounding import Digits
from certgen.wording.wording import Wording

_POINTS_PER_INCH = 72.0
SIZE = 7.0
# shares of the width: where the panels begin at the least and at the most, and where they end; what is
# between two of them as a share of one
_LEAST, _MOST, _END, _BETWEEN = 0.07, 0.25, 0.99, 0.06
_GAP = 4.0  # points between name and panel
Fit = tuple[int, float]  # columns, and the height in points


@contextmanager
def drawn_alike() -> Iterator[None]:
    """Draw with the library's own settings, whatever a user keeps in a file for other plots.

    Around everything that makes and draws a figure: the same survey gives the same bytes everywhere.
    """
    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        yield


def drawing_of(figure: Figure) -> Drawing:
    """Return the figure as a reportlab drawing of the same size (one figure unit is a point)."""
    load_fonts()
    figure.set_dpi(_POINTS_PER_INCH)
    width, height = figure.get_size_inches() * _POINTS_PER_INCH
    renderer = _ShapesRenderer(float(width), float(height))
    figure.draw(renderer)
    return renderer.drawing


def extent_of(artist: Any) -> tuple[float, float]:
    """Return width and height of a part of a figure in points, without drawing it."""
    load_fonts()
    box = artist.get_window_extent(_ShapesRenderer(1.0, 1.0))
    return float(box.width), float(box.height)


class _ShapesRenderer(RendererBase):
    """Draws paths and texts; images and clipping do not occur in our plots."""

    def __init__(self, width: float, height: float) -> None:
        super().__init__()
        self.drawing = Drawing(width, height)

    def draw_path(
        self,
        gc: GraphicsContextBase,
        path: PlotPath,
        transform: Transform,
        rgbFace: Any = None,  # noqa: N803  (matplotlib's name)
    ) -> None:
        shape = Path()
        for code, points in _segments(path, transform):
            _STEPS[code](shape, points)
        shape.fillColor = None if rgbFace is None else Color(*rgbFace[:3])
        shape.strokeColor = Color(*gc.get_rgb()[:3]) if gc.get_linewidth() > 0 else None
        shape.strokeWidth = gc.get_linewidth()
        _, dashes = gc.get_dashes()
        shape.strokeDashArray = None if dashes is None else list(np.asarray(dashes, dtype=float))
        self.drawing.add(shape)

    def draw_text(self, gc: GraphicsContextBase, x: float, y: float, s: str, *how: Any, **_: Any) -> None:
        """Draw a text; `how` is its font properties and its angle in degrees."""
        prop, angle, *_rest = how
        size, colour = prop.get_size_in_points(), Color(*gc.get_rgb()[:3])
        group = Group(String(0, 0, s, fontName=_font(prop), fontSize=size, fillColor=colour))
        group.translate(float(x), float(y))
        group.rotate(float(angle))
        self.drawing.add(group)

    def get_text_width_height_descent(
        self,
        s: str,
        prop: FontProperties,
        ismath: Any,  # noqa: ARG002  (no mathematical text in our plots)
    ) -> tuple[float, float, float]:
        size = prop.get_size_in_points()
        return width_of(s, _font(prop), size), 0.95 * size, 0.22 * size

    def flipy(self) -> bool:
        """The origin is at the bottom, as in a PDF."""
        return False

    def get_canvas_width_height(self) -> tuple[float, float]:
        return self.drawing.width, self.drawing.height

    def points_to_pixels(self, points: Any) -> Any:
        """One pixel is one point."""
        return points


def _font(prop: FontProperties) -> str:
    return STRONG if prop.get_weight() in {"bold", "semibold"} else BODY


def _segments(path: PlotPath, transform: Transform) -> Iterator[tuple[int, list[float]]]:
    for points, code in path.iter_segments(transform, remove_nans=True, simplify=False, curves=True):
        yield int(code), [float(value) for value in points]


def _quadratic(shape: Any, points: list[float]) -> None:
    """A quadratic curve raised to a cubic one."""
    x0, y0 = shape.points[-2:]
    cx, cy, x, y = points
    first = (x0 + 2.0 * (cx - x0) / 3.0, y0 + 2.0 * (cy - y0) / 3.0)
    second = (x + 2.0 * (cx - x) / 3.0, y + 2.0 * (cy - y) / 3.0)
    shape.curveTo(*first, *second, x, y)


_STEPS: dict[int, Any] = {
    int(PlotPath.MOVETO): lambda shape, points: shape.moveTo(*points),
    int(PlotPath.LINETO): lambda shape, points: shape.lineTo(*points),
    int(PlotPath.CURVE3): _quadratic,
    int(PlotPath.CURVE4): lambda shape, points: shape.curveTo(*points),
    int(PlotPath.CLOSEPOLY): lambda shape, _points: shape.closePath(),
}


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


def write_numbers(axis: Any, digits: Digits) -> None:
    """Give ticks and numbers of the panel the decimal sign; its texts hold nothing but numbers."""
    axis.xaxis.set_major_formatter(_Ticks(digits))
    for text in axis.texts:
        text.set_text(digits.written(text.get_text()))


def write_ticks(axis: Any, digits: Digits) -> None:
    """Give the ticks of both axes the decimal sign."""
    axis.xaxis.set_major_formatter(_Ticks(digits))
    axis.yaxis.set_major_formatter(_Ticks(digits))


class _Ticks(ScalarFormatter):
    """Numbers at an axis, as matplotlib writes them, with the decimal sign of a language."""

    def __init__(self, digits: Digits) -> None:
        super().__init__()
        self._digits = digits

    def __call__(self, x: float, pos: int | None = None) -> str:
        return self._digits.written(super().__call__(x, pos))
