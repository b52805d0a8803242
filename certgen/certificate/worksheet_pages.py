"""The work sheet as PDF: sections of one page each, with the safety notes at the top of every one."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import KeepInFrame, PageBreak, Paragraph, Spacer, TableStyle
from reportlab.platypus import Table as Grid

from certgen.assessment.assessment import Assessment
from certgen.assessment.move_results import all_moves
from certgen.certificate.archive_print import printed_report
from certgen.certificate.archive_record import Record
from certgen.certificate.assemble import bound, type_area
from certgen.certificate.content import Content
from certgen.certificate.letterhead import letterhead
from certgen.certificate.letters import require_letters
from certgen.certificate.look import BODY, INK, ORANGE, STRONG, load_fonts
from certgen.certificate.pages import END, HEAD, NOTE, SUBTITLE, TEXT, TITLE, Head, markup
from certgen.certificate.report_record import Basis, attached_lines, report_record
from certgen.certificate.sheet_cards import card
from certgen.certificate.wording import Wording
from certgen.certificate.worksheet import SheetGroup, WorkSheet, work_sheet
from certgen.survey.survey import Paper

_SMALL = ParagraphStyle("small", parent=TEXT, fontSize=7.6, leading=9.8, spaceAfter=1.2)
_POINT = ParagraphStyle("small point", parent=_SMALL, leftIndent=8, bulletFontName=BODY, bulletFontSize=7.6)
_WARNING = ParagraphStyle("warning", fontName=STRONG, fontSize=9.2, leading=12, textColor=INK, spaceAfter=1.5)
# of a page that is nearly full: what a rounding of heights may take
_SLACK = 2.0
# the share of a page that the head of a group may take; a longer one is said once, on pages of its own
_MOST_HEAD = 0.4


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
    tail = _rest(sheet, wording)
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
        Paragraph(markup(type(text)(text.removeprefix("- "))), _POINT, bulletText=f"{number}")
        for number, text in enumerate(sheet.safety, 1)
    ]
    frame = Grid(
        [[[Paragraph(markup(wording.word("sheet_safety")), _WARNING), *points]]], colWidths=[area[0]]
    )
    frame.setStyle(TableStyle([("BOX", (0, 0), (-1, -1), 1.6, ORANGE), ("FONT", (0, 0), (-1, -1), BODY)]))
    head = f"{sheet.identification}. {sheet.subtitle}"
    return [Paragraph(markup(sheet.title), TITLE), Paragraph(markup(head), SUBTITLE), frame, Spacer(1, 4)]


def _group_head(group: SheetGroup, wording: Wording, *, continued: bool) -> list[Any]:
    title = wording.word("sheet_continued", title=group.title) if continued else group.title
    arrows = wording.word("sheet_arrows") if any(roll.steps for roll in group.rolls) else ""
    notes = [text for text in (*group.note.split("\n"), arrows) if text]
    head = Paragraph(markup(title), HEAD) if continued else Head(title)
    return [head, *(Paragraph(markup(text), _SMALL) for text in notes), Spacer(1, 3)]


def _rest(sheet: WorkSheet, wording: Wording) -> list[Any]:
    texts = [Paragraph(markup(text), TEXT) for text in (*sheet.rest, wording.word("sheet_back"))]
    notes = [Paragraph(markup(text), NOTE) for text in sheet.attached]
    return [Head(wording.word("sheet_rest")), *texts, *notes, Paragraph(markup(sheet.end), END)]


def _height(story: list[Any], area: tuple[float, float]) -> float:
    """What the flowables take one above the other, as a page sets them: the larger of two gaps counts."""
    total, before = _SLACK, 0.0
    for index, item in enumerate(story):
        _, height = item.wrap(area[0], area[1])
        above = 0.0 if index == 0 else max(item.getSpaceBefore() - before, 0.0)
        before = item.getSpaceAfter()
        total += height + above + before
    return total
