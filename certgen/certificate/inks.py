"""The two colours of a contractor in the place of the project's, where ink meets the page."""

from collections.abc import Callable
from typing import Any

from reportlab.lib.colors import Color, HexColor
from reportlab.pdfgen.canvas import Canvas

from certgen.certificate.house_look import HouseLook
from certgen.certificate.look import BLUE, ORANGE

Ink = Callable[[Any], Any]


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
