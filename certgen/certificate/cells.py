"""Cells of the tables: numbers aligned on the decimal sign, text broken to its column."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from reportlab.lib.utils import simpleSplit
from reportlab.platypus import Flowable

from certgen.certificate.look import INK, width_of
from certgen.certificate.wording import SOFT_HYPHEN, unhyphenated

LEADING = 1.22
# the point or the comma; no number of a certificate is broken into thousands
_DECIMAL_SIGN = re.compile(r"[.,](?=\d)")


@dataclass(frozen=True, slots=True)
class Type:
    """A font at a size."""

    font: str
    size: float


class DecimalCell(Flowable):  # type: ignore[misc]  # reportlab has no types
    """Numbers of one cell, a line for each unit system, each drawn as one text.

    `fractions[i]` is the widest fraction of line i in the column and `widths[i]` the widest number, so that
    the decimal signs of the column stand under each other and the column is centred.
    """

    def __init__(self, lines: Sequence[str], column: "DecimalColumn", kind: Type) -> None:
        super().__init__()
        self._lines = lines
        self._column = column
        self._kind = kind

    def wrap(self, available: float, _height: float) -> tuple[float, float]:
        """Take the whole width of the column."""
        self.width = available
        self.height = len(self._lines) * self._kind.size * LEADING
        return self.width, self.height

    def draw(self) -> None:
        """Draw each line right of its place by what its fraction is shorter."""
        canvas, size = self.canv, self._kind.size
        canvas.setFont(self._kind.font, size)
        canvas.setFillColor(INK)
        for index, text in enumerate(self._lines):
            right = (self.width + self._column.widths[index]) / 2.0 - self._column.fractions[index]
            baseline = self.height - index * size * LEADING - size
            canvas.drawRightString(right + fraction_width(text, self._kind), baseline, text)


@dataclass(frozen=True, slots=True)
class DecimalColumn:
    """The widest number and the widest fraction of each line of a column, in points."""

    widths: tuple[float, ...]
    fractions: tuple[float, ...]


def decimal_column(cells: Sequence[str], kind: Type) -> DecimalColumn:
    """Measure a column of numbers."""
    lines = [cell.split("\n") for cell in cells]
    depth = max(len(cell) for cell in lines)
    fractions = [
        max((fraction_width(c[i], kind) for c in lines if i < len(c)), default=0.0) for i in range(depth)
    ]
    wholes = [
        max(
            (width_of(c[i], kind.font, kind.size) - fraction_width(c[i], kind) for c in lines if i < len(c)),
            default=0.0,
        )
        for i in range(depth)
    ]
    widths = tuple(whole + part for whole, part in zip(wholes, fractions, strict=True))
    return DecimalColumn(widths, tuple(fractions))


def fraction_width(text: str, kind: Type) -> float:
    """Return the width of a number from its decimal sign on; a unit behind an integer counts too."""
    found = _DECIMAL_SIGN.search(text)
    start = len(text.rstrip(" %")) if found is None else found.start()
    return width_of(text[start:], kind.font, kind.size)


def broken(text: str, width: float, kind: Type) -> str:
    """Return the text in lines that fit the width; a word that is too long is parted, else cut."""
    lines = [
        line
        for part in text.split("\n")
        for line in (simpleSplit(_parted(part, width, kind), kind.font, kind.size, width) or [""])
    ]
    return "\n".join(piece for line in lines for piece in _cut(line, width, kind))


def _parted(text: str, width: float, kind: Type) -> str:
    """Words too long for the width with a hyphen and a space at the soft hyphens where a line must end."""
    return " ".join(_syllables(word.split(SOFT_HYPHEN), width, kind) for word in text.split(" "))


def _syllables(syllables: list[str], width: float, kind: Type) -> str:
    whole = "".join(syllables)
    if len(syllables) == 1 or width_of(whole, kind.font, kind.size) <= width:
        return whole
    lines = [syllables[0]]
    for index, syllable in enumerate(syllables[1:], 2):
        hyphen = "" if index == len(syllables) else "-"
        if width_of(lines[-1] + syllable + hyphen, kind.font, kind.size) <= width:
            lines[-1] += syllable
        else:
            lines.append(syllable)
    return "- ".join(lines)


def _cut(line: str, width: float, kind: Type) -> list[str]:
    pieces: list[str] = []
    while width_of(line, kind.font, kind.size) > width and len(line) > 1:
        fits = max(
            (n for n in range(1, len(line)) if width_of(line[:n], kind.font, kind.size) <= width), default=1
        )
        pieces.append(line[:fits])
        line = line[fits:]
    return [*pieces, line]


def cell_of(text: str, column: Any, kind: Type) -> Any:
    """Return a decimal cell for a measured column, the plain text for None."""
    return unhyphenated(text) if column is None else DecimalCell(text.split("\n"), column, kind)
