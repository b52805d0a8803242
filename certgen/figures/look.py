"""The look: fonts, sizes and colours of every page and drawing, with the two of a contractor. In points."""

from collections.abc import Callable
from functools import cache
from typing import Any

from reportlab.graphics.shapes import STATE_DEFAULTS
from reportlab.lib.colors import Color, HexColor
from reportlab.lib.pagesizes import A3, A4, A5, letter
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import Canvas

from certgen import resources
from certgen.figures.fonts import plain_font
from certgen.survey.survey import Paper
from certgen.wording.wording import HouseLook

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
Ink = Callable[[Any], Any]


@cache
def load_fonts() -> None:
    """Register the embedded fonts (they cover Latin, Greek and Cyrillic) with reportlab, once."""
    for name in (BODY, STRONG, SLANTED):
        file = name if "-" in name else f"{name}-Regular"
        pdfmetrics.registerFont(plain_font(name, str(resources.templates() / "fonts" / f"{file}.ttf")))
    STATE_DEFAULTS["fontName"] = BODY  # else every drawing asks for a font that is not embedded
    pdfmetrics.registerFontFamily(BODY, normal=BODY, bold=STRONG, italic=SLANTED, boldItalic=STRONG)


def width_of(text: str, font: str, size: float) -> float:
    """Return the width of a text in points."""
    load_fonts()
    return float(pdfmetrics.stringWidth(text, font, size))


def inks(look: HouseLook) -> Ink:
    """Return what turns a colour of the project into that of the look; any other colour stays."""
    own = {_key(ORANGE): HexColor(look.found), _key(BLUE): HexColor(look.left)}
    return lambda colour: own.get(_key(colour), colour) if isinstance(colour, Color) else colour


def inked_canvas(look: HouseLook) -> type:
    """Return a class of canvas that draws in the colours of the look."""
    ink = inks(look)

    class InkedCanvas(Canvas):  # type: ignore[misc]  # reportlab has no types
        def setFillColor(self, colour: Any, *how: Any, **more: Any) -> None:  # noqa: N802  (reportlab's name)
            super().setFillColor(ink(colour), *how, **more)

        def setStrokeColor(self, colour: Any, *how: Any, **more: Any) -> None:  # noqa: N802  (same)
            super().setStrokeColor(ink(colour), *how, **more)

        def beginText(self, x: float = 0, y: float = 0, **more: Any) -> Any:  # noqa: N802  (same)
            return _inked(super().beginText(x, y, **more), ink)

    return InkedCanvas


def _inked(text: Any, ink: Ink) -> Any:
    """Let a text object set its colours through the ink as well."""
    fill = text.setFillColor
    text.setFillColor = lambda colour, *how, **more: fill(ink(colour), *how, **more)
    return text


def _key(colour: Color) -> tuple[int, ...]:
    return tuple(round(255.0 * part) for part in colour.rgb())
