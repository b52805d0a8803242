"""The letterhead of a contractor on the first page: lines on the left, logo on the right."""

from collections.abc import Iterator
from io import BytesIO
from typing import Any

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
    drawing.hAlign = "RIGHT"
    return drawing


def _factor(width: float, height: float) -> float:
    return min(_WIDEST / width, _TALLEST / height)


def _drawing(data: bytes) -> Flowable:
    try:
        from svglib.svglib import svg2rlg
    except ImportError:
        raise WrongUsage("An SVG logo needs svglib: pip install 'certgen[svg]', or save it as PNG.") from None
    drawing = svg2rlg(BytesIO(data))
    if drawing is None or drawing.width <= 0.0 or drawing.height <= 0.0:
        raise WrongUsage("The SVG logo has no size; give it a width, a height or a viewBox.")
    return drawing
