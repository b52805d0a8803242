"""A canvas that holds its pages back until their number is known; letters that no embedded font has.

ISO 19005-3:2012, 6.2.11.8 forbids the glyph that stands for a missing one.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

from reportlab.pdfbase import pdfmetrics

from certgen.document.content import Content
from certgen.errors import NoSuchLetter
from certgen.figures.look import BODY, GREY, INK, MM, RULE, SLANTED, STRONG, inked_canvas
from certgen.pdf.archive.metadata import Record
from certgen.pdf.archive.pdf_a import archived
from certgen.pdf.structure import Structure, TaggedCanvas, with_artifacts
from certgen.wording.wording import Wording

HEAD = 12.0 * MM
_DRAFT, _DRAFT_TOP = 11.0, 8.0 * MM  # of the mark of a draft: its size, and how far from the upper edge
SIZE = 7.2  # points, of the running head and foot
GAP = 4.0 * MM  # between the two texts of one line


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


@dataclass(frozen=True, slots=True)
class SignaturePlace:
    """An empty place to sign: page from 1, and its rectangle (left, bottom, right, top) in points."""

    page: int
    box: tuple[float, float, float, float]

    def numbers(self) -> list[float]:
        """Return page, left, bottom, right and top, to a hundredth of a point."""
        return [self.page, *(round(side, 2) for side in self.box)]


@dataclass(frozen=True, slots=True)
class Binding:
    """What a canvas needs beside the pages.

    `places` collects the places to sign while the pages are drawn, and the record is made from them.
    """

    content: Content
    wording: Wording
    aside: float
    record: Callable[[Sequence[SignaturePlace]], Record]
    places: list[SignaturePlace]


def canvas_maker(binding: Binding) -> type:
    """Return the class of canvas for one document."""

    class BoundCanvas(TaggedCanvas, inked_canvas(binding.wording.look)):  # type: ignore[misc]  # reportlab has no types
        def __init__(self, *args: Any, **options: Any) -> None:
            super().__init__(*args, **options | {"initialFontName": BODY})
            self._held: list[dict[str, Any]] = []
            self._heads: dict[int, list[tuple[str, float]]] = {}
            self.structure = Structure()

        def head_stands(self, title: str, above: float) -> None:
            """Note a section that starts on this page, `above` points over its lower edge."""
            self._heads.setdefault(len(self._held), []).append((title, above))

        def place_stands(self, box: tuple[float, float, float, float]) -> None:
            """Note a place to sign on this page."""
            binding.places.append(SignaturePlace(len(self._held) + 1, box))

        def showPage(self) -> None:  # noqa: N802  (reportlab's name)
            self._held.append(dict(self.__dict__))
            self._startPage()

        def save(self) -> None:
            heads, held = self._heads, self._held
            for index, state in enumerate(held):
                self.__dict__.update(state)
                for title, above in heads.get(index, ()):
                    # an entry of the outline that leads to the head of a section
                    canvas = self
                    key = f"section {len(canvas._doc.outline.destinationnamestotitles) + 1}"
                    canvas.bookmarkPage(key, fit="XYZ", left=0, top=above)
                    canvas.addOutlineEntry(title, key)
                _furnish(self, binding, len(held))
                self._code[:] = with_artifacts(self._code)
                super().showPage()
            self._filename.write(archived(self, binding.record(binding.places)))

    return BoundCanvas


def _furnish(canvas: Any, binding: Binding, pages: int) -> None:
    """Running head and foot."""
    content = binding.content
    width, height = canvas._pagesize
    canvas.setFont(BODY, SIZE)
    canvas.setFillColor(GREY)
    canvas.setStrokeColor(RULE)
    canvas.setLineWidth(0.4)
    top, bottom = height - HEAD, HEAD - 3 * MM
    left, right = binding.aside, width - binding.aside
    titled = canvas._pageNumber == 1 and content.has_page_one
    if not titled:
        canvas.line(left, top - 4, right, top - 4)
        _opposite(canvas, (left, right, top), content.contractor, content.title)
    canvas.line(left, bottom + 9, right, bottom + 9)
    if content.draft:
        canvas.setFont(STRONG, _DRAFT)
        canvas.setFillColor(INK)
        for y in (height - _DRAFT_TOP, bottom):
            canvas.drawCentredString(width / 2.0, y, content.draft)
        canvas.setFont(BODY, SIZE)
        canvas.setFillColor(GREY)
    page = binding.wording.word("page", page=canvas._pageNumber, pages=pages)
    _opposite(canvas, (left, right, bottom), content.identification, page)


def _opposite(canvas: Any, line: tuple[float, float, float], first: str, last: str) -> None:
    """Two texts at the ends of a line (left, right, height); the first is cut where they would meet."""
    left, right, height = line
    room = right - left - canvas.stringWidth(last, BODY, SIZE) - GAP
    canvas.drawString(left, height, _cut(canvas, first, room))
    canvas.drawRightString(right, height, last)


def _cut(canvas: Any, text: str, room: float) -> str:
    """As much of a text as there is room for; all of it stands on the first page."""
    if canvas.stringWidth(text, BODY, SIZE) <= room:
        return text
    fitting = (
        count
        for count in range(len(text), 0, -1)
        if canvas.stringWidth(f"{text[:count]}…", BODY, SIZE) <= room
    )
    return f"{text[: next(fitting, 0)].rstrip()}…"
