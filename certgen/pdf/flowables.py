"""From content records to flowables: every block of every section, and the letterhead of a contractor."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from io import BytesIO
from textwrap import wrap
from typing import Any

from markupsafe import Markup, escape
from reportlab.graphics import renderPDF
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.utils import ImageReader
from reportlab.platypus import CondPageBreak, Flowable, Image, KeepTogether, Paragraph, Spacer, TableStyle
from reportlab.platypus import Table as Grid

from certgen.document.content import (
    Block,
    Content,
    Facts,
    Figure,
    Notice,
    Paragraphs,
    Section,
    Signatures,
    Table,
    VerdictBox,
    Verdicts,
)
from certgen.errors import WrongUsage
from certgen.figures.line_diagram import Picture
from certgen.figures.look import BLUE, BODY, GREY, INK, MM, ORANGE, RULE, SLANTED, STRONG
from certgen.pdf.grids import BARE, grid, padded
from certgen.wording.wording import HouseLook, Logo, unhyphenated

TEXT = ParagraphStyle("text", fontName=BODY, fontSize=8.4, leading=11.6, textColor=INK, spaceAfter=4)
POINT = ParagraphStyle(
    "point",
    parent=TEXT,
    leftIndent=9,
    bulletIndent=0,
    bulletFontName=BODY,
    bulletFontSize=8.4,
    spaceAfter=2.5,
)
TITLE = ParagraphStyle("title", fontName=STRONG, fontSize=19, leading=23, textColor=INK)
SUBTITLE = ParagraphStyle("subtitle", parent=TEXT, fontSize=10.5, leading=14, textColor=GREY, spaceAfter=8)
HEAD = ParagraphStyle(
    "head", fontName=STRONG, fontSize=11.5, leading=15, textColor=BLUE, spaceBefore=9, spaceAfter=4
)
CAPTION = ParagraphStyle("caption", parent=TEXT, fontName=STRONG, spaceBefore=4, spaceAfter=3)
NOTE = ParagraphStyle(
    "note", parent=TEXT, fontName=SLANTED, fontSize=7.4, leading=9.6, textColor=GREY, spaceBefore=3
)
LABEL = ParagraphStyle("label", parent=TEXT, fontSize=7.4, leading=10, textColor=GREY, spaceAfter=0)
VALUE = ParagraphStyle("value", parent=TEXT, spaceAfter=0)
VERDICT = ParagraphStyle("verdict", fontName=STRONG, fontSize=17, leading=21, textColor=INK)
NOTICE = ParagraphStyle("notice", fontName=STRONG, fontSize=10.5, leading=14, textColor=INK, spaceAfter=3)
END = ParagraphStyle("end", parent=TEXT, alignment=1, textColor=GREY, spaceBefore=10)

# Tables of at most so many rows are not broken over pages.
_UNBROKEN = 16
# letters of a fact that stand in one row: a row is never higher than the smallest page
_MOST_LETTERS = 600

Figures = Mapping[str, list[Picture]]
_TALLEST, _WIDEST = 16.0 * MM, 62.0 * MM
_LINE = ParagraphStyle("letterhead", fontName=BODY, fontSize=7.8, leading=10.4, textColor=GREY)
_FIRST = ParagraphStyle(
    "letterhead first", parent=_LINE, fontName=STRONG, fontSize=9.4, leading=12.4, textColor=INK
)


class Head(Paragraph):  # type: ignore[misc]  # reportlab has no types
    """The head of a section, which tells the canvas where it stands."""

    def __init__(self, title: str) -> None:
        super().__init__(markup(title), HEAD)
        self._title = title

    def draw(self) -> None:
        """Draw the head after noting its place."""
        self.canv.head_stands(self._title, self.canv.absolutePosition(0, self.height)[1])
        super().draw()


class _PlaceToSign(Spacer):  # type: ignore[misc]  # reportlab has no types
    """An empty place, which tells the canvas where it stands."""

    def wrap(self, width: float, height: float) -> tuple[float, float]:  # noqa: ARG002  # reportlab's signature
        self.width = width
        return self.width, self.height

    def draw(self) -> None:
        (left, bottom), (right, top) = (
            self.canv.absolutePosition(*corner) for corner in ((0, 0), (self.width, self.height))
        )
        self.canv.place_stands((left, bottom, right, top))


def flowables(content: Content, figures: Figures, width: float) -> Iterator[Any]:
    """Yield everything in reading order; `figures` holds the drawings by name, `width` is in points."""
    yield Paragraph(markup(content.title), TITLE)
    yield Paragraph(markup(content.identification), SUBTITLE)
    made = [one for section in content.sections for one in _section(section, figures, width)]
    yield from made[:-1]
    # the end mark never stands on a page by itself: what comes before it goes there with it
    last = made[-1:]
    end = Paragraph(markup(content.end), END)
    if last and isinstance(last[0], KeepTogether):
        yield KeepTogether([*last[0]._content, end])
    elif last and isinstance(last[0], Paragraph):
        yield KeepTogether([*last, end])
    else:
        yield from (*last, end)


def markup(text: str) -> str:
    """Return text as reportlab markup: plain text escaped, templates' own markup kept."""
    return unhyphenated(str(text if isinstance(text, Markup) else escape(text)))


def _section(section: Section, figures: Figures, width: float) -> Iterator[Any]:
    """The head stays with what follows it, and text that leads to a table with the table."""
    waiting: list[Any] = [Head(section.title)]
    for block, after in zip(section.blocks, (*section.blocks[1:], None), strict=True):
        groups = list(_groups(block, figures, width))
        leads = isinstance(block, Paragraphs) and isinstance(after, Table)
        for index, group in enumerate(groups):
            waiting += group
            if not (leads and index == len(groups) - 1):
                if len(waiting) == 1:
                    yield waiting[0]
                elif any(getattr(item, "long_rows", False) for item in waiting):
                    yield CondPageBreak(150)
                    yield from waiting
                else:
                    yield KeepTogether(waiting)
                waiting = []
    yield from waiting


def _groups(block: Block, figures: Figures, width: float) -> Iterator[list[Any]]:
    """The block in groups that must not be torn apart."""
    if isinstance(block, Figure):
        for picture in figures[block.name]:
            yield [*_caption(picture.caption), picture.drawing, Spacer(1, 4)]
    elif isinstance(block, Paragraphs):
        for text in block.texts:
            yield [_paragraph(text)]
    else:
        yield list(_BLOCKS[type(block)](block, width))


def _caption(text: str) -> list[Any]:
    return [Paragraph(markup(text), CAPTION)] if text else []


def _paragraph(text: str) -> Any:
    if text.startswith("- "):
        return Paragraph(markup(type(text)(text[2:])), POINT, bulletText="–")
    return Paragraph(markup(text), TEXT)


def _table(table: Table, width: float) -> Iterator[Any]:
    yield from _caption(table.caption)
    flowable = grid(table, width)
    flowable.long_rows = len(table.rows) > _UNBROKEN
    yield flowable
    yield Paragraph(markup(table.note), NOTE) if table.note else Spacer(1, 6)


def _facts(facts: Facts, width: float) -> Iterator[Any]:
    rows, ends = [], []
    for start in range(0, len(facts.pairs), facts.columns):
        rows += _fact_rows(facts.pairs[start : start + facts.columns], facts.columns)
        ends.append(len(rows) - 1)
    label = 74.0
    value = width / facts.columns - label
    table = Grid(rows, colWidths=[label, value] * facts.columns)
    table.setStyle(TableStyle([*_PLAIN, *(("LINEBELOW", (0, end), (-1, end), 0.25, RULE) for end in ends)]))
    yield table
    yield Spacer(1, 6)


def _fact_rows(pairs: Sequence[tuple[str, str]], columns: int) -> list[list[Any]]:
    """Facts side by side; a long one goes on in rows below, which may stand on the next page."""
    pieces = [_pieces(value) for _, value in pairs]
    rows = []
    for number in range(max(map(len, pieces))):
        row: list[Any] = []
        for (key, _), texts in zip(pairs, pieces, strict=True):
            row += [Paragraph(markup(key), LABEL) if number == 0 else ""]
            row += [Paragraph(markup(texts[number]), VALUE) if number < len(texts) else ""]
        rows.append((row + [""] * (2 * columns))[: 2 * columns])
    return rows


def _pieces(text: str) -> list[str]:
    """A text in pieces of whole words; a template's own markup stays whole."""
    if isinstance(text, Markup) or len(text) <= _MOST_LETTERS:
        return [text]
    return wrap(text, _MOST_LETTERS, break_on_hyphens=False)


def _verdicts(verdicts: Verdicts, width: float) -> Iterator[Any]:
    gap = 10.0
    each = (width - gap * (len(verdicts.boxes) - 1)) / len(verdicts.boxes)
    boxes = [_box(box, each) for box in verdicts.boxes]
    row: list[Any] = [boxes[0]]
    for box in boxes[1:]:
        row += ["", box]
    table = Grid([row], colWidths=[each, *[gap, each] * (len(boxes) - 1)])
    table.setStyle(TableStyle(BARE))
    yield table
    yield Spacer(1, 6)


def _box(box: VerdictBox, width: float) -> Any:
    """A pass has a thin frame, anything else a thick one; the words say it first."""
    texts = [
        [Paragraph(markup(box.title), LABEL)],
        [Paragraph(markup(box.verdict), VERDICT)],
        [Paragraph(markup(box.detail), LABEL)],
    ]
    colour, thick = (BLUE, 1.0) if box.passed else (ORANGE, 2.4)
    table = Grid(texts, colWidths=[width])
    frame = [
        ("BOX", (0, 0), (-1, -1), thick, colour),
        ("LEFTPADDING", (0, 0), (-1, -1), 10),
        ("TOPPADDING", (0, 0), (-1, 0), 7),
        ("BOTTOMPADDING", (0, -1), (-1, -1), 8),
    ]
    table.setStyle(TableStyle([*_PLAIN, *frame]))
    return table


def _notice(notice: Notice, width: float) -> Iterator[Any]:
    """A thick frame, as of a verdict that is no pass; a row each, so that a full one may go over a page."""
    texts = [
        Paragraph(markup(notice.title), NOTICE),
        *(Paragraph(markup(text), TEXT) for text in notice.texts),
    ]
    frame = Grid([[text] for text in texts], colWidths=[width])
    air = (("TOPPADDING", (0, 0), (-1, 0), 6), ("BOTTOMPADDING", (0, -1), (-1, -1), 6))
    frame.setStyle(TableStyle([*padded(10, 10, 3, 2), *air, ("BOX", (0, 0), (-1, -1), 2.4, ORANGE)]))
    yield Spacer(1, 5)
    yield frame
    yield Spacer(1, 6)


def _signatures(signatures: Signatures, width: float) -> Iterator[Any]:
    """Two lines each, for the signature and for the day, with a gap between one place and the next."""
    places = signatures.places
    cells = (
        [Paragraph(markup(role), LABEL) for role, _ in places],
        [_PlaceToSign(1, 30) for _ in places],
        [Paragraph(markup(name), VALUE) for _, name in places],
        [Paragraph(markup(signatures.date), LABEL) for _ in places],
    )
    rows = [[part for cell in row for part in (cell, "")] for row in cells]
    table = Grid(rows, colWidths=[width / len(places) - _BETWEEN, _BETWEEN] * len(places))
    lines = [
        ("LINEBELOW", (2 * i, row), (2 * i, row), 0.6, INK) for row in (1, 3) for i in range(len(places))
    ]
    table.setStyle(TableStyle([*_PLAIN, ("TOPPADDING", (0, 3), (-1, 3), 10), *lines]))
    yield table
    yield Spacer(1, 8)


_BETWEEN = 18.0
_PLAIN = [*padded(0, 6, 2.5, 2.5), ("VALIGN", (0, 0), (-1, -1), "TOP")]
_BLOCKS: Mapping[type, Callable[[Any, float], Iterator[Any]]] = {
    Table: _table,
    Facts: _facts,
    Verdicts: _verdicts,
    Notice: _notice,
    Signatures: _signatures,
}


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
