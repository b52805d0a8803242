"""The embedded fonts without what only moves points on coarse screens: a third of their room in a document.

ISO/IEC 14496-22:2019: programs of glyphs (glyf), and the tables cvt, fpgm, prep, name, OS/2 and post, none of
which a document needs (ISO 32000-1:2008, 9.9). Shapes and widths stay as they are.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from io import BytesIO
from itertools import pairwise
from struct import pack, unpack_from
from typing import Any

from reportlab.pdfbase.ttfonts import TTFont, TTFontMaker, TTFontParser

_KEPT = ("head", "hhea", "maxp", "hmtx", "cmap")
_OUTLINE = 10  # bytes of a glyph before the ends of its contours
_MORE, _WORDS, _SCALE, _TWO_SCALES, _MATRIX, _PROGRAM = 0x20, 0x01, 0x08, 0x40, 0x80, 0x100


def plain_font(name: str, file: str) -> Any:
    """Return the font of that name, whose parts are embedded without hints.

    `face.whole_subset` makes a part with them, as certificates of the first form have it.
    """
    font = TTFont(name, file)
    face = font.face
    face.whole_subset = face.makeSubset
    face.makeSubset = lambda codes: _part(face, codes)
    return font


_keeps_hints = ContextVar("keeps_hints", default=False)


@contextmanager
def hints_kept() -> Iterator[None]:
    """Embed fonts with their hints meanwhile, as certgen 0.1 did."""
    token = _keeps_hints.set(True)
    try:
        yield
    finally:
        _keeps_hints.reset(token)


def _part(face: Any, codes: Any) -> bytes:
    whole: bytes = face.whole_subset(codes)
    return whole if _keeps_hints.get() else without_hints(whole)


def without_hints(font: bytes) -> bytes:
    """Return a part of a font, as the drawing library makes it, without hints and names."""
    parser, made = TTFontParser(BytesIO(font)), TTFontMaker()
    for tag in _KEPT:
        made.add(tag, parser.get_table(tag))
    (wide,) = unpack_from(">h", parser.get_table("head"), 50)
    places, glyphs = parser.get_table("loca"), parser.get_table("glyf")
    starts = unpack_from(f">{len(places) // (4 if wide else 2)}{'L' if wide else 'H'}", places)
    step, outlines, found = 1 if wide else 2, bytearray(), [0]
    for start, end in pairwise(starts):
        outlines += _without_program(glyphs[start * step : end * step])
        outlines += bytes(-len(outlines) % 4)
        found.append(len(outlines) // step)
    made.add("glyf", bytes(outlines))
    made.add("loca", pack(f">{len(found)}{'L' if wide else 'H'}", *found))
    data: bytes = made.makeStream()
    return data


def _without_program(glyph: bytes) -> bytes:
    if not glyph:
        return glyph
    (contours,) = unpack_from(">h", glyph)
    if contours < 0:
        return _parts(glyph)
    at = _OUTLINE + 2 * contours
    (length,) = unpack_from(">H", glyph, at)
    return glyph[:at] + b"\0\0" + glyph[at + 2 + length :]


def _parts(glyph: bytes) -> bytes:
    """A glyph that is put together from others, up to the last of them."""
    found, at, flags = bytearray(glyph[:_OUTLINE]), _OUTLINE, _MORE
    while flags & _MORE:
        (flags,) = unpack_from(">H", glyph, at)
        size = 8 if flags & _WORDS else 6
        size += 2 if flags & _SCALE else 4 if flags & _TWO_SCALES else 8 if flags & _MATRIX else 0
        found += pack(">H", flags & ~_PROGRAM) + glyph[at + 2 : at + size]
        at += size
    return bytes(found)
