"""A contractor's own look: letterhead, logo and the two colours. Everything else is that of the project."""

from dataclasses import dataclass
from hashlib import sha256
from typing import Literal

# WCAG 2.2, 1.4.3 for text and 1.4.11 for lines: how much darker than the paper they must at least be
TEXT_CONTRAST = 4.5
LINE_CONTRAST = 3.0


# those of look.py, orange and blue, as a browser writes them
FOUND_COLOUR, LEFT_COLOUR = "#c75b12", "#1d4e89"


@dataclass(frozen=True, slots=True)
class Logo:
    """A picture: PNG without transparency, or SVG that was found harmless."""

    kind: Literal["png", "svg"]
    data: bytes


@dataclass(frozen=True, slots=True)
class HouseLook:
    """Lines of the letterhead, logo, and the colours of what was found and what was left (as #rrggbb)."""

    letterhead: tuple[str, ...] = ()
    logo: Logo | None = None
    found: str = FOUND_COLOUR
    left: str = LEFT_COLOUR

    def digest(self) -> str:
        """Return the SHA-256, in hexadecimal, of everything that this look puts on a page."""
        logo = b"" if self.logo is None else self.logo.data
        text = "\n".join((*self.letterhead, self.found, self.left, sha256(logo).hexdigest()))
        return sha256(text.encode()).hexdigest()


PROJECT_LOOK = HouseLook()


def contrast(colour: str) -> float:
    """Return the contrast of a colour (#rrggbb) to white paper, 1 to 21 (WCAG 2.2, relative luminance)."""
    red, green, blue = (_linear(int(colour[i : i + 2], 16) / 255.0) for i in (1, 3, 5))
    luminance = 0.2126 * red + 0.7152 * green + 0.0722 * blue
    return 1.05 / (luminance + 0.05)


def _linear(part: float) -> float:
    return float(part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4)
