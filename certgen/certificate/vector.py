"""A matplotlib renderer that draws into reportlab shapes: plots stay vectors, in the page's own fonts."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import matplotlib
import numpy as np
from matplotlib.backend_bases import GraphicsContextBase, RendererBase
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.path import Path as PlotPath
from matplotlib.transforms import Transform
from reportlab.graphics.shapes import Drawing, Group, Path, String
from reportlab.lib.colors import Color

from certgen.certificate.look import BODY, STRONG, load_fonts, width_of

_POINTS_PER_INCH = 72.0


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
