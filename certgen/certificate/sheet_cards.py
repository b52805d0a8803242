"""The cards of the work sheet: one roll each, its steps with boxes to tick and lines to fill in."""

import re
from collections.abc import Sequence
from typing import Any

from reportlab.graphics.shapes import Drawing, Rect
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Paragraph, Spacer, TableStyle
from reportlab.platypus import Table as Grid

from certgen.certificate.cell_styles import BARE, padded
from certgen.certificate.cells import Type, broken
from certgen.certificate.look import BAND, BLUE, BODY, GREY, INK, RULE, SLANTED, STRONG
from certgen.certificate.pages import LABEL, TEXT, markup
from certgen.certificate.pen import Point, Stroke, area, line
from certgen.certificate.sheet_rolls import Pointing, Remark, SheetRoll, SheetStep
from certgen.certificate.wording import Wording

_PLAIN = ParagraphStyle("card", parent=TEXT, fontSize=8.2, leading=10.4, spaceAfter=0)
_BOLD = ParagraphStyle("card bold", parent=_PLAIN, fontName=STRONG)
_ROLL = ParagraphStyle("card roll", parent=_BOLD, fontSize=9.6, leading=12)
_REMARK = ParagraphStyle(
    "card remark", parent=_PLAIN, fontName=SLANTED, fontSize=7.4, leading=9.4, textColor=GREY
)
_OTHER = ParagraphStyle("card alternative", parent=_REMARK, fontName=BODY, textColor=INK)
_STRONG = ParagraphStyle("card warning", parent=_REMARK, fontName=STRONG, textColor=INK)
_NO_BREAK = "\N{NO-BREAK SPACE}"
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=[a-z])")
_GAP = 7.0
_LABEL_PADS = 4.0
_BOX = 9.0
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


def card(roll: SheetRoll, wording: Wording, width: float) -> list[Any]:
    """Return the card of one roll; it is one flowable, so that it is never torn, and the gap below it."""
    head = Grid(
        [[Paragraph(markup(f"{roll.id}  {roll.name}"), _ROLL), Paragraph(markup(roll.verdicts), _RIGHT)]],
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
    action = [Paragraph(markup(step.action), _BOLD), Paragraph(markup(step.bearing), _PLAIN)]
    watch = [Paragraph(markup(step.shims), _BOLD)] if step.shims else []
    if step.watch:
        stop = _NO_BREAK.join(step.stop.split(" "))
        watch.append(Paragraph(f"{markup(_together(step.watch))} <b>{markup(stop)}</b>", _PLAIN))
    if step.check:
        watch.append(Paragraph(markup(_together(step.check)), _PLAIN))
    return [action, Paragraph(markup(step.amount), _BOLD), watch]


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
    cells: list[Any] = [Paragraph(markup(title), _PLAIN)]
    widths = [first]
    for label, share in fields:
        cells += [_label(label, share * left), ""]
        widths += [share * left, _GAP]
    table = Grid([cells], colWidths=widths, rowHeights=[25.0])
    rules = [("LINEBELOW", (i, 0), (i, 0), 0.7, INK) for i in range(1, len(cells), 2)]
    pads = [("LEFTPADDING", (0, 0), (0, 0), 5), ("LEFTPADDING", (1, 0), (-1, 0), 1)]
    table.setStyle(TableStyle([*_TIGHT, ("VALIGN", (0, 0), (-1, -1), "BOTTOM"), *pads, *rules]))
    return table


def _label(text: str, width: float) -> Any:
    """The label of a line to fill in, its words parted where the language parts them."""
    kind = Type(LABEL.fontName, LABEL.fontSize)
    return Paragraph("<br/>".join(map(markup, broken(text, width - _LABEL_PADS, kind).split("\n"))), LABEL)


def _remark(remark: Remark) -> Any:
    style = _STRONG if remark.strong else _OTHER if remark.plain else _REMARK
    return Paragraph(markup(remark.text), style)


def _remark_pads(row: int) -> list[tuple[Any, ...]]:
    at = (0, row)
    sides = [("LEFTPADDING", at, at, 5), ("RIGHTPADDING", at, at, 5)]
    return [*sides, ("TOPPADDING", at, at, 4), ("BOTTOMPADDING", at, at, 4)]


_RIGHT = ParagraphStyle("card right", parent=_PLAIN, alignment=2)
_TIGHT = padded(3, 3, 2, 2)
_ROWS: list[tuple[Any, ...]] = [("VALIGN", (0, 0), (-1, -1), "MIDDLE"), ("LEFTPADDING", (0, 0), (0, -1), 5)]
