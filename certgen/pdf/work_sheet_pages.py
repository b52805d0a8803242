"""The work sheet as PDF: sections of one page each, safety notes at the top of every page, a card a roll."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from reportlab.graphics.shapes import Drawing, Rect
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import KeepInFrame, PageBreak, Spacer, TableStyle
from reportlab.platypus import Table as Grid

from certgen.assessment.assessment import Assessment
from certgen.document.content import Content
from certgen.document.work_sheet import SheetGroup, WorkSheet, work_sheet
from certgen.document.work_sheet_roll import Pointing, Remark, SheetRoll, SheetStep
from certgen.figures.look import BAND, BLUE, BODY, GREY, INK, ORANGE, RULE, STRONG, load_fonts
from certgen.figures.shapes import Point, Stroke, area, line
from certgen.pdf.archive.metadata import Basis, Record, attached_lines, report_record
from certgen.pdf.archive.print_record import printed_report
from certgen.pdf.canvas import require_letters
from certgen.pdf.flowables import END, HEAD, NOTE, SHORT_TITLE, TEXT, Head, letterhead, markup
from certgen.pdf.grids import BARE, Type, broken, padded
from certgen.pdf.pdf_document import bound, type_area
from certgen.pdf.structure import Text
from certgen.results.move_results import all_moves
from certgen.survey.survey import Paper
from certgen.wording.wording import Wording

# all of it is read at arm's length, under poor light: 10 points at least
_PLAIN = ParagraphStyle("card", parent=TEXT, fontSize=10, leading=11.8, spaceAfter=0)
_BOLD = ParagraphStyle("card bold", parent=_PLAIN, fontName=STRONG)
_ROLL = ParagraphStyle("card roll", parent=_BOLD, fontSize=11.5, leading=13)
_STRONG = ParagraphStyle("card warning", parent=_PLAIN, fontName=STRONG)
_NO_BREAK = "\N{NO-BREAK SPACE}"
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=[a-z])")
_GAP = 7.0
_LABEL_PADS = 4.0
_BOX = 11.0
_BLANK_ROW = 20.0
_ARROW = 17.0
# shares of the width behind box and arrow: action, amount, shims and stop
_SHARES = (0.22, 0.16, 0.62)
_FIELDS = (
    ("sheet_done_up", 0.18),
    ("sheet_done_downstream", 0.22),
    ("sheet_done_shims", 0.24),
    ("sheet_done_by", 0.18),
    ("sheet_done_time", 0.18),
)
_SMALL = ParagraphStyle("small", parent=TEXT, fontSize=10, leading=11.4, spaceAfter=1)
_BLANK = ParagraphStyle("blank", parent=_SMALL, textColor=GREY, spaceAfter=0)
_POINT = ParagraphStyle("small point", parent=_SMALL, leftIndent=12, bulletFontName=BODY, bulletFontSize=10)
_SUBTITLE = ParagraphStyle("sheet", parent=_SMALL, leading=12, textColor=GREY, spaceAfter=4)
_WARNING = ParagraphStyle("warning", fontName=STRONG, fontSize=11, leading=13, textColor=INK, spaceAfter=1.5)
# of a page that is nearly full: what a rounding of heights may take
_SLACK = 2.0
# the share of a page that the head of a group may take; a longer one is said once, on pages of its own
_MOST_HEAD = 0.4


def card(roll: SheetRoll, wording: Wording, width: float) -> list[Any]:
    """Return the card of one roll; it is one flowable, so that it is never torn, and the gap below it."""
    head = Grid(
        [[Text(markup(f"{roll.id}  {roll.name}"), _ROLL), Text(markup(roll.verdicts), _RIGHT)]],
        colWidths=[width * 0.55, width * 0.45],
    )
    head.setStyle(
        TableStyle([*_TIGHT, ("BACKGROUND", (0, 0), (-1, -1), BAND), ("VALIGN", (0, 0), (-1, -1), "MIDDLE")])
    )
    parts = [[head], *([[_steps(roll.steps, width)]] if roll.steps else [])]
    parts += [
        [_done(wording.word("sheet_done", bearing=bearing), wording, width)] for bearing in roll.bearings
    ]
    parts += [
        [_blank(one.title, [(gap, 1.0 / len(one.gaps)) for gap in one.gaps], width)] for one in roll.blanks
    ]
    remarks = [[[_remark(one) for one in roll.remarks]]] if roll.remarks else []
    whole = Grid([*parts, *remarks], colWidths=[width])
    pads = _remark_pads(len(parts)) if remarks else []
    whole.setStyle(TableStyle([*BARE, *pads, ("BOX", (0, 0), (-1, -1), 0.9, INK)]))
    return [whole, Spacer(1, 7)]


def _steps(steps: tuple[SheetStep, ...], width: float) -> Any:
    left = width - 5.0 - _BOX - 8.0 - _ARROW - 6.0
    rows = [[_box(), _pointing(step.pointing), *_texts(step)] for step in steps]
    table = Grid(rows, colWidths=[5.0 + _BOX + 8.0, _ARROW + 6.0, *(share * left for share in _SHARES)])
    table.setStyle(TableStyle([*_TIGHT, *_ROWS, ("LINEBELOW", (0, 0), (-1, -1), 0.25, RULE)]))
    return table


def _texts(step: SheetStep) -> list[Any]:
    action = [Text(markup(step.action), _BOLD), Text(markup(step.bearing), _PLAIN)]
    watch = [Text(markup(step.shims), _BOLD)] if step.shims else []
    if step.watch:
        stop = _NO_BREAK.join(step.stop.split(" "))
        watch.append(Text(f"{markup(_together(step.watch))} <b>{markup(stop)}</b>", _PLAIN))
    if step.check:
        watch.append(Text(markup(_together(step.check)), _PLAIN))
    return [action, Text(markup(step.amount), _BOLD), watch]


def _together(text: str) -> str:
    """A text whose numbers keep their units on their line."""
    return _BEFORE_UNIT.sub(_NO_BREAK, text)


def _box() -> Drawing:
    drawing = Drawing(_BOX, _BOX)
    drawing.add(Rect(0.4, 0.4, _BOX - 0.8, _BOX - 0.8, fillColor=None, strokeColor=INK, strokeWidth=0.8))
    return drawing


def _pointing(way: Pointing) -> Drawing:
    """An arrow: up and down as they are, downstream to the right."""
    drawing, middle = Drawing(_ARROW, _ARROW), _ARROW / 2.0
    x, y = {"up": (0.0, 1.0), "down": (0.0, -1.0), "right": (1.0, 0.0), "left": (-1.0, 0.0)}[way]

    def at(along: float, aside: float) -> Point:
        return middle + along * x - aside * y, middle + along * y + aside * x

    line(drawing, at(-7.5, 0.0), at(2.0, 0.0), Stroke(BLUE, 1.8))
    area(drawing, [at(8.0, 0.0), at(1.0, 4.2), at(1.0, -4.2)], BLUE)
    return drawing


def _done(title: str, wording: Wording, width: float) -> Any:
    """One line to fill in for a bearing."""
    return _blank(title, [(wording.word(key), share) for key, share in _FIELDS], width)


def _blank(title: str, fields: Sequence[tuple[str, float]], width: float) -> Any:
    """One line to fill in: label and rule for every field, by its share, with gaps between the rules."""
    first = width * 0.23
    left = width - first - _GAP * len(fields)
    cells: list[Any] = [Text(markup(title), _PLAIN)]
    widths = [first]
    for label, share in fields:
        cells += [_label(label, share * left), ""]
        widths += [share * left, _GAP]
    table = Grid([cells], colWidths=widths, rowHeights=[_BLANK_ROW])
    rules = [("LINEBELOW", (i, 0), (i, 0), 0.7, INK) for i in range(1, len(cells), 2)]
    pads = [("LEFTPADDING", (0, 0), (0, 0), 5), ("LEFTPADDING", (1, 0), (-1, 0), 1)]
    table.setStyle(TableStyle([*_TIGHT, ("VALIGN", (0, 0), (-1, -1), "BOTTOM"), *pads, *rules]))
    return table


def _label(text: str, width: float) -> Any:
    """The label of a line to fill in, its words parted where the language parts them."""
    kind = Type(_BLANK.fontName, _BLANK.fontSize)
    return Text("<br/>".join(map(markup, broken(text, width - _LABEL_PADS, kind).split("\n"))), _BLANK)


def _remark(remark: Remark) -> Any:
    return Text(markup(remark.text), _STRONG if remark.strong else _PLAIN)


def _remark_pads(row: int) -> list[tuple[Any, ...]]:
    at = (0, row)
    sides = [("LEFTPADDING", at, at, 5), ("RIGHTPADDING", at, at, 5)]
    return [*sides, ("TOPPADDING", at, at, 4), ("BOTTOMPADDING", at, at, 4)]


_RIGHT = ParagraphStyle("card right", parent=_PLAIN, alignment=2)
_TIGHT = padded(3, 3, 2, 2)
_ROWS: list[tuple[Any, ...]] = [("VALIGN", (0, 0), (-1, -1), "MIDDLE"), ("LEFTPADDING", (0, 0), (0, -1), 5)]


def work_sheet_pdf(assessment: Assessment, wording: Wording, paper: Paper) -> bytes:
    """Return the crew's work sheet as the bytes of a PDF; deterministic for the same input."""
    load_fonts()
    sheet = work_sheet(assessment, wording)
    basis = Basis("work sheet", (assessment.survey,), all_moves(assessment))
    record = report_record(basis, _identity(sheet, wording), printed_report(wording, paper, basis.kind))
    sheet = replace(sheet, attached=_attached(basis, record, wording))
    require_letters(sheet, wording.look.letterhead)
    story: list[Any] = []
    for section in _sections(sheet, wording, type_area(paper)):
        # a roll that alone overfills a small page is set smaller, so that the safety notes stay above it
        whole = KeepInFrame(*type_area(paper), content=_left(section), mode="shrink")
        story += [*([PageBreak()] if story else []), whole]
    return bound(_identity(sheet, wording), story, record, wording, paper)


def _attached(basis: Basis, record: Record, wording: Wording) -> tuple[str, ...]:
    lines = attached_lines(basis, record.attachments, wording)
    titled = (wording.word("titled", title=name, text=text) for name, text in lines)
    return (wording.word("attached_intro"), *titled)


def _left(section: list[Any]) -> list[Any]:
    """Tables at the left as text is, also where a page that is set smaller leaves room beside them."""
    for item in section:
        item.hAlign = "LEFT"
    return section


def _identity(sheet: WorkSheet, wording: Wording) -> Content:
    """What the running head and foot say."""
    return Content(
        title=sheet.title,
        identification=sheet.identification,
        contractor=sheet.contractor,
        author=sheet.contractor,
        language=wording.language,
        sections=(),
        end=sheet.end,
    )


def _sections(sheet: WorkSheet, wording: Wording, area: tuple[float, float]) -> Iterator[list[Any]]:
    """The groups, each in as many pages as its rolls take; what is left alone follows on the last."""
    texts = [Text(markup(text), _SMALL) for text in (*sheet.rest, wording.word("sheet_back"))]
    notes = [Text(markup(text), NOTE) for text in sheet.attached]
    tail = [Head(wording.word("sheet_rest")), *texts, *notes, Text(markup(sheet.end), END)]
    pages = [page for group in sheet.groups for page in _pages(sheet, group, wording, area)]
    last = pages.pop() if pages else [*_first(sheet, wording, area), Head(sheet.nothing)]
    yield from pages
    if _height([*last, *tail], area) <= area[1]:
        yield [*last, *tail]
    else:
        yield last
        opening = _opening(sheet, wording, area)
        yield from _over_pages(tail, opening, opening, area)


def _pages(
    sheet: WorkSheet, group: SheetGroup, wording: Wording, area: tuple[float, float]
) -> Iterator[list[Any]]:
    """Fill one page after the other; a card is never torn."""
    start = _first if group is sheet.groups[0] else _opening
    head = _group_head(group, wording, continued=False)
    long_head = _height(head, area) > _MOST_HEAD * area[1]
    page: list[Any] = []
    if long_head:
        tops = start(sheet, wording, area), _opening(sheet, wording, area)
        *full, page = _over_pages(head, *tops, area)
        yield from full
    for roll in group.rolls:
        made = card(roll, wording, area[0])
        if page and _height([*page, *made], area) > area[1]:
            yield page
            page = []
        if not page:
            continued = long_head or roll is not group.rolls[0]
            top = _opening if continued else start
            head = _group_head(group, wording, continued=continued)
            page = [*top(sheet, wording, area), *(head[:1] if long_head else head)]
        page += made
    yield page


def _over_pages(
    items: list[Any], first: list[Any], opening: list[Any], area: tuple[float, float]
) -> Iterator[list[Any]]:
    """Pages that begin with `first`, then `opening`; what does not fit goes on on the next."""
    page, empty, waiting = [*first], len(first), list(items)
    while waiting:
        item = waiting.pop(0)
        fits = _height([*page, item], area) <= area[1]
        room = area[1] - _height(page, area) - item.getSpaceBefore()
        parts = [item] if fits else item.split(area[0], room)
        if fits or len(parts) > 1 or len(page) == empty:
            page.append(parts[0] if parts else item)  # what alone overfills a page is set smaller with it
            waiting = [*parts[1:], *waiting]
        else:
            waiting = [item, *waiting]
        if waiting and not fits:
            yield page
            page, empty = [*opening], len(opening)
    yield page


def _first(sheet: WorkSheet, wording: Wording, area: tuple[float, float]) -> list[Any]:
    """The opening of the first page, under the letterhead."""
    return [*letterhead(wording.look, area[0]), *_opening(sheet, wording, area)]


def _opening(sheet: WorkSheet, wording: Wording, area: tuple[float, float]) -> list[Any]:
    """Title, certificate number and the framed safety notes."""
    points = [
        Text(markup(type(text)(text.removeprefix("- "))), _POINT, bulletText=f"{number}")
        for number, text in enumerate(sheet.safety, 1)
    ]
    frame = Grid([[[Text(markup(wording.word("sheet_safety")), _WARNING), *points]]], colWidths=[area[0]])
    frame.setStyle(TableStyle([("BOX", (0, 0), (-1, -1), 1.6, ORANGE), ("FONT", (0, 0), (-1, -1), BODY)]))
    head = f"{sheet.identification}. {sheet.subtitle}"
    return [Text(markup(sheet.title), SHORT_TITLE), Text(markup(head), _SUBTITLE), frame, Spacer(1, 4)]


def _group_head(group: SheetGroup, wording: Wording, *, continued: bool) -> list[Any]:
    title = wording.word("sheet_continued", title=group.title) if continued else group.title
    arrows = wording.word("sheet_arrows") if any(roll.steps for roll in group.rolls) else ""
    notes = [text for text in (*group.note.split("\n"), arrows) if text]
    head = Text(markup(title), HEAD) if continued else Head(title)
    return [head, *(Text(markup(text), _SMALL) for text in notes), Spacer(1, 3)]


def _height(story: list[Any], area: tuple[float, float]) -> float:
    """What the flowables take one above the other, as a page sets them: the larger of two gaps counts."""
    total, before = _SLACK, 0.0
    for index, item in enumerate(story):
        _, height = item.wrap(area[0], area[1])
        above = 0.0 if index == 0 else max(item.getSpaceBefore() - before, 0.0)
        before = item.getSpaceAfter()
        total += height + above + before
    return total
