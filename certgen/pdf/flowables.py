"""From content records to flowables: every block of every section, and the letterhead of a contractor."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from io import BytesIO
from textwrap import wrap
from typing import Any

from markupsafe import Markup, escape
from reportlab.graphics import renderPDF
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.utils import ImageReader
from reportlab.platypus import (
    CondPageBreak,
    Flowable,
    Image,
    KeepTogether,
    Spacer,
    TableStyle,
)
from reportlab.platypus import Table as Grid

from certgen.document.content import (
    Block,
    Content,
    Facts,
    Figure,
    Notice,
    Paragraphs,
    Parties,
    Section,
    Signatures,
    Statements,
    Table,
    VerdictBox,
    Verdicts,
    Verify,
)
from certgen.errors import WrongUsage
from certgen.figures.line_diagram import Picture
from certgen.figures.look import BLUE, BODY, GREY, INK, MM, ORANGE, RULE, SLANTED, STRONG, width_of
from certgen.figures.outline import code_drawing
from certgen.pdf.archive.tags import PLACE
from certgen.pdf.grids import BARE, grid, padded
from certgen.pdf.structure import Illustration, Text
from certgen.wording.wording import HouseLook, Logo, unhyphenated

TEXT = ParagraphStyle("text", fontName=BODY, fontSize=8.4, leading=11.2, textColor=INK, spaceAfter=3.5)
POINT = ParagraphStyle(
    "point",
    parent=TEXT,
    leftIndent=9,
    bulletIndent=0,
    bulletFontName=BODY,
    bulletFontSize=8.4,
    spaceAfter=2,
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
SMALL = ParagraphStyle("small", parent=TEXT, fontSize=7.8, leading=10.4, spaceAfter=0)
VALUE = ParagraphStyle("value", parent=TEXT, fontSize=8.2, leading=10.8, spaceAfter=0)
VERDICT = ParagraphStyle("verdict", fontName=STRONG, fontSize=14, leading=17, textColor=INK, spaceAfter=1)
STRONG_TEXT = ParagraphStyle("strong", parent=VALUE, fontName=STRONG)
RIGHT = ParagraphStyle("right", parent=STRONG_TEXT, alignment=2)
ASIDE = ParagraphStyle(
    "aside", parent=TEXT, fontSize=7.4, leading=10, textColor=GREY, alignment=2, spaceAfter=0
)
PLACE_HEAD = ParagraphStyle("place", parent=TEXT, fontSize=12, leading=18, alignment=2, spaceAfter=0)
SHORT_TITLE = ParagraphStyle("short title", parent=TITLE, fontSize=15, leading=19)
NOTICE = ParagraphStyle("notice", fontName=STRONG, fontSize=10.5, leading=14, textColor=INK, spaceAfter=3)
END = ParagraphStyle("end", parent=TEXT, alignment=1, textColor=GREY, spaceBefore=10)

# Tables of at most so many rows are not broken over pages.
_UNBROKEN = 9
# letters of a fact that stand in one row: a row is never higher than the smallest page
_MOST_LETTERS = 600
_EMPTY = 0.62  # of a page: with so much room left, the annexes begin on it

Figures = Mapping[str, list[Picture]]
_TALLEST, _WIDEST = 16.0 * MM, 62.0 * MM
_LINE = ParagraphStyle("letterhead", fontName=BODY, fontSize=7.8, leading=10.4, textColor=GREY)
_FIRST = ParagraphStyle(
    "letterhead first", parent=_LINE, fontName=STRONG, fontSize=9.4, leading=12.4, textColor=INK
)


class Head(Text):
    """The head of a section, which tells the canvas where it stands."""

    def __init__(self, title: str) -> None:
        super().__init__(markup(title), HEAD)
        self._title = title

    def draw(self) -> None:
        """Draw the head after noting its place."""
        self.canv.head_stands(self._title, self.canv.absolutePosition(0, self.height)[1])
        super().draw()


class SectionPlace(Flowable):  # type: ignore[misc]  # reportlab has no types
    """Nothing to be seen: tells the canvas where a section without a head stands."""

    def __init__(self, title: str) -> None:
        super().__init__()
        self._title = title

    def wrap(self, *_: float) -> tuple[float, float]:
        """Take no room."""
        return 0.0, 0.0

    def draw(self) -> None:
        """Note the place."""
        self.canv.head_stands(self._title, self.canv.absolutePosition(0, 0)[1])


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
        with self.canv.element(PLACE):
            pass


def flowables(content: Content, figures: Figures, width: float, height: float) -> Iterator[Any]:
    """Yield everything in reading order; `figures` holds the drawings by name, sizes are in points.

    The annexes begin on a page of their own, unless the one before them is nearly empty.

    A section that has a page to itself is not among it: page_one.py lays it out.
    """
    sections = [section for section in content.sections if not section.one_page]
    if len(sections) == len(content.sections):
        yield Text(markup(content.title), TITLE)
        yield Text(markup(content.identification), SUBTITLE)
    first = next((section for section in sections if section.annex), None)
    made = []
    for section in sections:
        made += [CondPageBreak(_EMPTY * height)] if section is first and section is not sections[0] else []
        made += list(_section(section, figures, width))
    yield from made[:-1]
    # the end mark never stands on a page by itself: what comes before it goes there with it
    last = made[-1:]
    end = Text(markup(content.end), END)
    if last and isinstance(last[0], KeepTogether):
        yield KeepTogether([*last[0]._content, end])
    elif last and isinstance(last[0], Text):
        yield KeepTogether([*last, end])
    else:
        yield from (*last, end)


def markup(text: str) -> str:
    """Return text as reportlab markup: plain text escaped, templates' own markup kept."""
    return unhyphenated(str(text if isinstance(text, Markup) else escape(text)))


def _section(section: Section, figures: Figures, width: float) -> Iterator[Any]:
    """The head stays with what follows it, and text that leads to a table with the table."""
    waiting: list[Any] = [Head(section.head)]
    for block, after in zip(section.blocks, (*section.blocks[1:], None), strict=True):
        found = list(groups(block, figures, width, close=bool(section.annex)))
        leads = isinstance(block, Paragraphs) and isinstance(after, Table | Statements)
        for index, group in enumerate(found):
            waiting += group
            if not (leads and index == len(found) - 1):
                if len(waiting) == 1:
                    yield waiting[0]
                elif any(getattr(item, "long_rows", False) for item in waiting):
                    yield CondPageBreak(110)
                    yield from waiting
                else:
                    yield KeepTogether(waiting)
                waiting = []
    yield from waiting


def groups(block: Block, figures: Figures, width: float, *, close: bool = False) -> Iterator[list[Any]]:
    """Yield the block in groups that must not be torn apart; the rows of an annex stand close."""
    if isinstance(block, Figure):
        said = ""
        for picture in figures[block.name]:
            said = picture.alt or said
            note = [Text(markup(picture.note), NOTE)] if picture.note else []
            drawn = Illustration(picture.drawing, said)
            yield [*_caption(picture.caption), drawn, *note, Spacer(1, 4)]
    elif isinstance(block, Paragraphs):
        for text in block.texts:
            yield [_paragraph(text)]
    elif isinstance(block, Table):
        yield list(_table(block, width, close=close))
    else:
        yield list(_BLOCKS[type(block)](block, width))


def _caption(text: str, aside: str = "", width: float = 0.0) -> list[Any]:
    """The caption, and at its right what holds for the whole table."""
    if not aside:
        return [Text(markup(text), CAPTION)] if text else []
    room = min(width_of(text, STRONG, CAPTION.fontSize) + 8.0, width * 0.62)
    row = [Text(markup(text), CAPTION), Text(markup(aside), ASIDE)]
    head = Grid([row], colWidths=[room, width - room])
    head.setStyle(TableStyle([*padded(0, 0, 3, 1), ("VALIGN", (0, 0), (-1, -1), "BOTTOM")]))
    return [head]


def _paragraph(text: str) -> Any:
    if text.startswith("- "):
        return Text(markup(type(text)(text[2:])), POINT, bulletText="–")
    return Text(markup(text), TEXT)


def _table(table: Table, width: float, *, close: bool = False) -> Iterator[Any]:
    yield from _caption(table.caption, table.aside, width)
    flowable = grid(table, width, close=close)
    flowable.long_rows = len(table.rows) > _UNBROKEN
    yield flowable
    yield Text(markup(table.note), NOTE) if table.note else Spacer(1, 6)


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
            row += [Text(markup(key), LABEL, role="Lbl") if number == 0 else ""]
            row += [Text(markup(texts[number]), VALUE, role="LBody") if number < len(texts) else ""]
        rows.append((row + [""] * (2 * columns))[: 2 * columns])
    return rows


def _pieces(text: str) -> list[str]:
    """A text in pieces of whole words; a template's own markup stays whole."""
    if isinstance(text, Markup) or len(text) <= _MOST_LETTERS:
        return [text]
    return wrap(text, _MOST_LETTERS, break_on_hyphens=False)


def _verdicts(verdicts: Verdicts, width: float) -> Iterator[Any]:
    gap = 12.0
    each = (width - gap * (len(verdicts.boxes) - 1)) / len(verdicts.boxes)
    row: list[Any] = []
    for box in verdicts.boxes:
        row += ["", _box(box, each)] if row else [_box(box, each)]
    table = Grid([row], colWidths=[each, *[gap, each] * (len(verdicts.boxes) - 1)])
    table.setStyle(TableStyle([*BARE, ("VALIGN", (0, 0), (-1, -1), "TOP")]))
    yield table
    yield Spacer(1, 4)


def _box(box: VerdictBox, width: float) -> Any:
    """Under a line that is the key to the drawings: as found dashed, as left solid; the words say it all."""
    first = Grid(
        [[Text(markup(box.title), STRONG_TEXT), Text(markup(box.says), RIGHT)]],
        colWidths=[width * 0.5, width * 0.5],
    )
    first.setStyle(TableStyle(BARE))
    texts = [[first], [Text(markup(box.sentence), VERDICT)]]
    texts += [[Text(markup(text), SMALL)] for text in box.details]
    table = Grid(texts, colWidths=[width])
    dash = (6, 3) if box.dashed else None
    line = ("LINEABOVE", (0, 0), (-1, 0), 2.4, ORANGE if box.dashed else BLUE, 0, dash)
    table.setStyle(TableStyle([*padded(0, 0, 0.5, 0.5), ("TOPPADDING", (0, 0), (-1, 0), 5), line]))
    return table


def _parties(parties: Parties, width: float) -> Iterator[Any]:
    """Side by side; the first line of each stands out."""
    count = len(parties.columns)
    shares = [1.1, 1.1, 1.1, 0.7][:count] if count == 4 else [1.0] * count
    widths = [width * share / sum(shares) for share in shares]
    cells = [
        [
            Text(markup(label), LABEL),
            *(Text(markup(text), STRONG_TEXT if index == 0 else VALUE) for index, text in enumerate(lines)),
        ]
        for label, lines in parties.columns
    ]
    table = Grid([cells], colWidths=widths)
    table.setStyle(TableStyle([*padded(0, 8, 0, 0), ("VALIGN", (0, 0), (-1, -1), "TOP")]))
    yield table
    yield Spacer(1, 5)


def _statements(statements: Statements, width: float) -> Iterator[Any]:
    """Labels at the left, what is said of each beside it."""
    if not statements.pairs:
        return
    label = min(31.0 * MM, width * 0.25)
    rows = [
        [
            Text(markup(one), STRONG_TEXT, role="Lbl") if number == 0 else "",
            Text(markup(piece), VALUE, role="LBody"),
        ]
        for one, text in statements.pairs
        for number, piece in enumerate(_pieces(text))
    ]
    table = Grid(rows, colWidths=[label, width - label])
    table.setStyle(TableStyle([*padded(0, 4, 0.6, 1.6), ("VALIGN", (0, 0), (-1, -1), "TOP")]))
    yield table
    yield Spacer(1, 4)


def _notice(notice: Notice, width: float) -> Iterator[Any]:
    """A thick frame, as of a verdict that is no pass; a row each, so that a full one may go over a page."""
    texts = [
        Text(markup(notice.title), NOTICE),
        *(Text(markup(text), TEXT) for text in notice.texts),
    ]
    frame = Grid([[text] for text in texts], colWidths=[width])
    air = (("TOPPADDING", (0, 0), (-1, 0), 6), ("BOTTOMPADDING", (0, -1), (-1, -1), 6))
    frame.setStyle(TableStyle([*padded(10, 10, 3, 2), *air, ("BOX", (0, 0), (-1, -1), 2.4, ORANGE)]))
    yield Spacer(1, 5)
    yield frame
    yield Spacer(1, 6)


def _signatures(signatures: Signatures, width: float) -> Iterator[Any]:
    """Two lines each, for the signature and for the day; how to verify at their right."""
    places = signatures.places
    room = width if signatures.verify is None else width * 0.52
    cells = (
        [Text(markup(role), LABEL) for role, _ in places],
        [_PlaceToSign(1, 30) for _ in places],
        [Text(markup(name), VALUE) for _, name in places],
        [Text(markup(signatures.date), LABEL) for _ in places],
    )
    rows = [[part for cell in row for part in (cell, "")] for row in cells]
    table = Grid(rows, colWidths=[room / len(places) - _BETWEEN, _BETWEEN] * len(places))
    lines = [
        ("LINEBELOW", (2 * i, row), (2 * i, row), 0.6, INK) for row in (1, 3) for i in range(len(places))
    ]
    table.setStyle(TableStyle([*_PLAIN, ("TOPPADDING", (0, 3), (-1, 3), 3), *lines]))
    if signatures.verify is None:
        yield table
    else:
        both = Grid([[table, _verify(signatures.verify, width - room)]], colWidths=[room, width - room])
        both.setStyle(TableStyle([*BARE, ("VALIGN", (0, 0), (-1, -1), "TOP")]))
        yield both
    yield Spacer(1, 4)


def _verify(verify: Verify, width: float) -> Any:
    """What to type, what it does, the digest in two lines, and both in a code for a telephone."""
    half = len(verify.digest) // 2
    digest = "<br/>".join(
        " ".join(line[start : start + 8] for start in range(0, half, 8))
        for line in (verify.digest[:half], verify.digest[half:])
    )
    texts = [
        Text(markup(verify.label), LABEL),
        Text(f"<b>{markup(verify.command)}</b> {markup(verify.text)}", VALUE),
        Text(f"{markup(verify.digest_label)}<br/>{digest}", LABEL),
    ]
    table = Grid([[texts, code_drawing(verify.code, _CODE)]], colWidths=[width - _CODE, _CODE])
    table.setStyle(
        TableStyle(
            [*padded(0, 6, 2.5, 0), ("VALIGN", (0, 0), (-1, -1), "TOP"), ("RIGHTPADDING", (1, 0), (1, 0), 0)]
        )
    )
    return table


_CODE = 20.0 * MM
_BETWEEN = 18.0
_PLAIN = [*padded(0, 6, 2.5, 2.5), ("VALIGN", (0, 0), (-1, -1), "TOP")]
_BLOCKS: Mapping[type, Callable[[Any, float], Iterator[Any]]] = {
    Facts: _facts,
    Verdicts: _verdicts,
    Notice: _notice,
    Signatures: _signatures,
    Parties: _parties,
    Statements: _statements,
}


def letterhead(look: HouseLook, width: float) -> Iterator[Any]:
    """Yield the flowables of the letterhead; nothing where the contractor has none."""
    if not look.letterhead and look.logo is None:
        return
    styles = [_FIRST, *[_LINE] * len(look.letterhead)]
    lines = [Text(markup(text), style) for text, style in zip(look.letterhead, styles, strict=False)]
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
