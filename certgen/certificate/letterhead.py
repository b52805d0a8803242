"""The letterhead of a contractor on the first page: lines on the left, logo on the right."""

from collections.abc import Iterator
from io import BytesIO
from typing import Any

from reportlab.graphics import renderPDF
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.utils import ImageReader
from reportlab.platypus import Flowable, Image, Paragraph, Spacer, TableStyle
from reportlab.platypus import Table as Grid

from certgen.certificate.cell_styles import padded
from certgen.certificate.house_look import HouseLook, Logo
from certgen.certificate.look import BODY, GREY, INK, MM, STRONG
from certgen.certificate.pages import markup
from certgen.errors import WrongUsage

_TALLEST, _WIDEST = 16.0 * MM, 62.0 * MM
_LINE = ParagraphStyle("letterhead", fontName=BODY, fontSize=7.8, leading=10.4, textColor=GREY)
_FIRST = ParagraphStyle(
    "letterhead first", parent=_LINE, fontName=STRONG, fontSize=9.4, leading=12.4, textColor=INK
)


def letterhead(look: HouseLook, width: float) -> Iterator[Any]:
    """Yield the flowables of the letterhead; nothing where the contractor has none."""
    if not look.letterhead and look.logo is None:
        return
    styles = [_FIRST, *[_LINE] * len(look.letterhead)]
    lines = [Paragraph(markup(text), style) for text, style in zip(look.letterhead, styles, strict=False)]
    picture = "" if look.logo is None else _picture(look.logo)
    table = Grid([[lines or "", picture]], colWidths=[width - _WIDEST, _WIDEST])
    table.setStyle(
        TableStyle(
            [
                *padded(0, 0, 3, 3),
                ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
                ("ALIGN", (1, 0), (1, 0), "RIGHT"),
            ]
        )
    )
    yield table
    yield Spacer(1, 8)


def _picture(logo: Logo) -> Any:
    if logo.kind == "png":
        width, height = ImageReader(BytesIO(logo.data)).getSize()
        factor = _factor(width, height)
        return Image(BytesIO(logo.data), width * factor, height * factor, hAlign="RIGHT")
    drawing = _drawing(logo.data)
    factor = _factor(drawing.width, drawing.height)
    drawing.width, drawing.height = drawing.width * factor, drawing.height * factor
    drawing.scale(factor, factor)
    return _Clipped(drawing)


class _Clipped(Flowable):  # type: ignore[misc]  # reportlab has no types
    """A drawing of which nothing is seen beyond its own place: a logo covers no result."""

    hAlign = "RIGHT"  # noqa: N815  (reportlab's name)

    def __init__(self, drawing: Any) -> None:
        super().__init__()
        self._drawing = drawing
        self.width, self.height = drawing.width, drawing.height

    def wrap(self, *_: float) -> tuple[float, float]:
        """Take what the drawing takes."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw what lies within the place."""
        self.canv.saveState()
        place = self.canv.beginPath()
        place.rect(0, 0, self.width, self.height)
        self.canv.clipPath(place, stroke=0, fill=0)
        renderPDF.draw(self._drawing, self.canv, 0, 0)
        self.canv.restoreState()


def _factor(width: float, height: float) -> float:
    return min(_WIDEST / width, _TALLEST / height)


def _drawing(data: bytes) -> Flowable:
    try:
        from svglib.svglib import svg2rlg
    except ImportError:
        raise WrongUsage("An SVG logo needs svglib: pip install 'certgen[svg]', or save it as PNG.") from None
    try:
        drawing = svg2rlg(BytesIO(data))
    except Exception as error:  # what shapes of others it stumbles over, it does not say beforehand
        raise WrongUsage(f"The SVG logo cannot be drawn: {error}.") from None
    if drawing is None or not (0.0 < drawing.width < 1e5 and 0.0 < drawing.height < 1e5):
        raise WrongUsage("The SVG logo has no size; give it a width, a height or a viewBox.")
    return drawing
