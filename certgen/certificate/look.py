"""The look: fonts, sizes and colours of every page and drawing. Lengths in points unless named otherwise."""

from functools import cache

from reportlab.graphics.shapes import STATE_DEFAULTS
from reportlab.lib.colors import Color, HexColor
from reportlab.lib.pagesizes import A3, A4, A5, letter
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from certgen import resources
from certgen.survey.survey import Paper

MM = 72.0 / 25.4

BODY = "OpenSans"
STRONG = "OpenSans-Semibold"
SLANTED = "OpenSans-Italic"

# Blue and orange stay apart for colour-blind readers and in grey; line styles carry the same meaning.
BLUE: Color = HexColor(0x1D4E89)
ORANGE: Color = HexColor(0xC75B12)
INK: Color = HexColor(0x1A1A1A)
GREY: Color = HexColor(0x6B6B6B)
RULE: Color = HexColor(0xB8B8B8)
BAND: Color = HexColor(0xE4E9EF)

PAGE_SIZES: dict[Paper, tuple[float, float]] = {"A3": A3, "A4": A4, "A5": A5, "letter": letter}


@cache
def load_fonts() -> None:
    """Register the embedded fonts (they cover Latin, Greek and Cyrillic) with reportlab, once."""
    for name in (BODY, STRONG, SLANTED):
        file = name if "-" in name else f"{name}-Regular"
        pdfmetrics.registerFont(TTFont(name, resources.templates() / "fonts" / f"{file}.ttf"))
    STATE_DEFAULTS["fontName"] = BODY  # else every drawing asks for a font that is not embedded
    pdfmetrics.registerFontFamily(BODY, normal=BODY, bold=STRONG, italic=SLANTED, boldItalic=STRONG)


def width_of(text: str, font: str, size: float) -> float:
    """Return the width of a text in points."""
    load_fonts()
    return float(pdfmetrics.stringWidth(text, font, size))
