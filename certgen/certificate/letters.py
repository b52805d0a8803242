"""Which letters of a certificate no embedded font has: they would be printed as empty boxes.

ISO 19005-3:2012, 6.2.11.8 forbids the glyph that stands for a missing one.
"""

from collections.abc import Iterator
from dataclasses import fields, is_dataclass

from reportlab.pdfbase import pdfmetrics

from certgen.certificate.look import BODY, SLANTED, STRONG
from certgen.errors import NoSuchLetter


def require_letters(*printed: object) -> None:
    """Raise NoSuchLetter where a text in a record or a tuple holds a letter that one of the fonts lacks.

    The fonts must be loaded.
    """
    known = set.intersection(*(_letters(name) for name in (BODY, STRONG, SLANTED)))
    missing = {letter for text in _texts(printed) for letter in text} - known
    missing = {letter for letter in missing if not letter.isspace()}
    if missing:
        raise NoSuchLetter(tuple(sorted(missing)))


def _letters(font: str) -> set[str]:
    return {chr(code) for code in pdfmetrics.getFont(font).face.charToGlyph}


def _texts(value: object) -> Iterator[str]:
    """Every text in a record and all it holds."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        for item in value:
            yield from _texts(item)
    elif is_dataclass(value):
        for field in fields(value):
            yield from _texts(getattr(value, field.name))
