"""Drawings as SVG: the shapes that the certificate's figures are made of, lengths in points.

Every text states its length, so that labels keep apart in whatever font the reader has.
"""

from collections.abc import Callable, Iterator
from typing import Any

from markupsafe import Markup
from reportlab.graphics.shapes import (
    Circle,
    Drawing,
    Group,
    Line,
    Path,
    Polygon,
    PolyLine,
    Rect,
    String,
)
from reportlab.lib.colors import Color

from certgen.certificate.look import STRONG, width_of

Paint = Callable[[Any], Any]
_STEPS = (("M", 2), ("L", 2), ("C", 6), ("Z", 0))


def svg(drawing: Drawing, label: str, ink: Paint) -> Markup:
    """Return the drawing as an SVG element that says what it shows; `ink` turns colours into those wanted."""
    shapes = Markup("").join(_shapes(drawing.contents, ink))
    return Markup(
        '<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-label="{}" viewBox="0 0 {} {}" width="{}">'
        '<g transform="matrix(1 0 0 -1 0 {})">{}</g></svg>'
    ).format(label, _n(drawing.width), _n(drawing.height), _n(drawing.width), _n(drawing.height), shapes)


def _shapes(shapes: list[Any], ink: Paint) -> Iterator[Markup]:
    for shape in shapes:
        yield _MAKERS[type(shape)](shape, ink)


def _group(group: Any, ink: Paint) -> Markup:
    inner = Markup("").join(_shapes(group.contents, ink))
    return Markup('<g transform="matrix({})">{}</g>').format(" ".join(map(_n, group.transform)), inner)


def _line(line: Any, ink: Paint) -> Markup:
    ends = tuple(map(_n, (line.x1, line.y1, line.x2, line.y2)))
    return Markup('<path d="M{} {}L{} {}"{}/>').format(*ends, _paint(line, ink, filled=False))


def _poly(poly: Any, ink: Paint) -> Markup:
    closed = isinstance(poly, Polygon)
    points = " ".join(map(_n, poly.points))
    return Markup('<{} points="{}"{}/>').format(
        "polygon" if closed else "polyline", points, _paint(poly, ink, filled=closed)
    )


def _circle(circle: Any, ink: Paint) -> Markup:
    sizes = tuple(map(_n, (circle.cx, circle.cy, circle.r)))
    return Markup('<circle cx="{}" cy="{}" r="{}"{}/>').format(*sizes, _paint(circle, ink))


def _rect(rect: Any, ink: Paint) -> Markup:
    sizes = tuple(map(_n, (rect.x, rect.y, rect.width, rect.height)))
    return Markup('<rect x="{}" y="{}" width="{}" height="{}"{}/>').format(*sizes, _paint(rect, ink))


def _path(path: Any, ink: Paint) -> Markup:
    points, steps = iter(path.points), []
    for operator in path.operators:
        letter, count = _STEPS[operator]
        steps.append(letter + " ".join(_n(next(points)) for _ in range(count)))
    return Markup('<path d="{}"{}/>').format("".join(steps), _paint(path, ink))


def _string(string: Any, ink: Paint) -> Markup:
    width = width_of(string.text, string.fontName, string.fontSize)
    return Markup(
        '<text transform="matrix(1 0 0 -1 {} {})" font-size="{}"{} text-anchor="{}" textLength="{}"'
        ' lengthAdjust="spacingAndGlyphs" fill="{}">{}</text>'
    ).format(
        _n(string.x),
        _n(string.y),
        _n(string.fontSize),
        Markup(' font-weight="600"') if string.fontName == STRONG else "",
        string.textAnchor,
        _n(width),
        _colour(string.fillColor, ink),
        string.text,
    )


def _paint(shape: Any, ink: Paint, *, filled: bool = True) -> Markup:
    """Fill and stroke; a colour that is not there is `none`."""
    fill = _colour(shape.fillColor, ink) if filled else "none"
    stroke = _colour(shape.strokeColor, ink) if shape.strokeWidth else "none"
    if stroke == "none":
        return Markup(' fill="{}"').format(fill)
    found = Markup(' fill="{}" stroke="{}" stroke-width="{}"').format(fill, stroke, _n(shape.strokeWidth))
    dashes = shape.strokeDashArray
    return found + (Markup(' stroke-dasharray="{}"').format(" ".join(map(_n, dashes))) if dashes else "")


def _colour(colour: Any, ink: Paint) -> str:
    if not isinstance(colour, Color):
        return "none"
    return str(ink(colour).hexval()).replace("0x", "#")


def _n(number: float) -> str:
    """A length to a hundredth of a point; a turn's sine and cosine do with as many."""
    text = f"{number:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


_MAKERS: dict[type, Callable[[Any, Paint], Markup]] = {
    Group: _group,
    Line: _line,
    Polygon: _poly,
    PolyLine: _poly,
    Circle: _circle,
    Rect: _rect,
    Path: _path,
    String: _string,
}
