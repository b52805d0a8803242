"""Tables as reportlab flowables: grouped heads, thin rules, numbers aligned on the decimal sign."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from reportlab.lib.utils import simpleSplit
from reportlab.platypus import Flowable, LongTable, TableStyle

from certgen.document.content import Column, Strip, Table
from certgen.figures.look import BODY, GREY, INK, RULE, SLANTED, STRONG, width_of
from certgen.figures.outline import strip_drawing
from certgen.pdf.structure import TableTags
from certgen.wording.wording import SOFT_HYPHEN, unhyphenated

Style = list[tuple[Any, ...]]
_ALL = ((0, 0), (-1, -1))
LEADING = 1.22
# the point or the comma; no number of a certificate is broken into thousands
_DECIMAL_SIGN = re.compile(r"[.,](?=\d)")
_SIZE = 8.0
_MOST = 0.3  # of the width of a table, that a column may ask for beyond its share
_SHORT = 18  # letters of a cell that should stand in one line
_SLACK = 0.3  # points, for what a sum of widths rounds
_SMALL = 7.0  # of the units in a head
_LEAST_HEAD = 7.0  # of a head, on wide paper, where its word would else be cut
_FULL = 450.0
_PAD = 2.0
# a row is never higher than the smallest page: beyond so many lines it goes on in rows of its own
_MOST_LINES = 40
_AIR, _CLOSE = 1.6, 0.8  # points above a row, and below it a little more
_TOGETHER = 3  # rows of a table that stay together at its start and at its end

Cells = list[Any]


def padded(left: float, right: float, top: float, bottom: float) -> Style:
    """Return the style of a table with these paddings, in points, in every cell.

    The font is the embedded one, which also an empty cell would else not be set in.
    """
    sides = {"LEFT": left, "RIGHT": right, "TOP": top, "BOTTOM": bottom}
    return [("FONT", *_ALL, BODY), *((f"{side}PADDING", *_ALL, points) for side, points in sides.items())]


BARE = padded(0, 0, 0, 0)


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
        self.lines = lines
        self._column = column
        self._kind = kind

    def wrap(self, available: float, _height: float) -> tuple[float, float]:
        """Take the whole width of the column."""
        self.width = available
        self.height = len(self.lines) * self._kind.size * LEADING
        return self.width, self.height

    def draw(self) -> None:
        """Draw each line right of its place by what its fraction is shorter."""
        canvas, size = self.canv, self._kind.size
        canvas.setFont(self._kind.font, size)
        canvas.setFillColor(INK)
        for index, text in enumerate(self.lines):
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


def grid(table: Table, width: float, *, close: bool = False) -> Any:
    """Return the table as a flowable of that width (points), its rows close together where wanted."""
    widths, size = _widths(table, width), _size(width)
    letters = _head_size(table.columns, widths, size)
    heads = _heads(table.columns, widths, letters)
    whole = [_parts(cells) for cells in _body(table, widths, size)]
    titles, lines = dict(table.groups), []
    body: list[Cells] = []
    strong: set[tuple[int, int]] = set()
    spans: list[int] = []
    count = len(table.columns)
    for number, parts in enumerate(whole):
        if number in titles:
            spans.append(len(body))
            body.append([unhyphenated(titles[number]), *[""] * (count - 1)])
        cells = range(count) if number in table.emphasis else (c for r, c in table.strong if r == number)
        strong |= {(len(body) + part, cell) for cell in cells for part in range(len(parts))}
        body += parts
        if number + 1 < len(whole) and not _goes_on(table, number):
            lines.append(len(body) - 1)
    flowable = LongTable(
        [*heads, *body], colWidths=widths, repeatRows=len(heads), splitByRow=1, renderCB=TableTags(len(heads))
    )
    first = len(heads)
    style = [
        *_rules(table.columns, first, (letters, size)),
        *_group_style(table.columns),
        *_alignment(table, first),
    ]
    air = _CLOSE if close else _AIR
    style += [("TOPPADDING", (0, first), (-1, -1), air), ("BOTTOMPADDING", (0, first), (-1, -1), air + 0.2)]
    style += [("LINEBELOW", (0, first + row), (-1, first + row), 0.25, RULE) for row in lines]
    style += [
        ("FONT", (c, first + r), (c, first + r), STRONG, size, size * LEADING) for r, c in sorted(strong)
    ]
    for row in spans:
        at = first + row
        style += [("SPAN", (0, at), (-1, at)), ("FONT", (0, at), (-1, at), SLANTED, size, size * LEADING)]
    low = all(cell.count("\n") < _TOGETHER for row in body for cell in row if isinstance(cell, str))
    if low and len(body) > 2 * _TOGETHER:  # no row stands by itself at the foot or the head of a page
        ends = ((first, first + _TOGETHER - 1), (first + len(body) - _TOGETHER, first + len(body) - 1))
        style += [("NOSPLIT", (0, start), (-1, stop)) for start, stop in ends]
    flowable.setStyle(TableStyle([*style, ("LINEBELOW", (0, -1), (-1, -1), 0.9, INK)]))
    return flowable


def _goes_on(table: Table, number: int) -> bool:
    """Whether the next row of a table with groups is of the same roll: no rule stands between."""
    same = bool(table.groups) and table.rows[number][0] == table.rows[number + 1][0]
    return same and number + 1 not in dict(table.groups)


def _parts(cells: Cells) -> list[Cells]:
    """A row in as many rows as its longest text takes; each goes on where it broke off."""
    lines = [cell.split("\n") if isinstance(cell, str) else [] for cell in cells]
    count = max(1, *(-(-len(one) // _MOST_LINES) for one in lines))
    if count == 1:
        return [cells]
    return [
        [
            "\n".join(one[part * _MOST_LINES : (part + 1) * _MOST_LINES])
            if one
            else cell
            if part == 0
            else ""
            for cell, one in zip(cells, lines, strict=True)
        ]
        for part in range(count)
    ]


def head_widths(table: Table, width: float) -> list[tuple[float, float]]:
    """Return the room for the head of each column and the size of its letters, in points."""
    widths = _widths(table, width)
    letters = _head_size(table.columns, widths, _size(width))
    return [(each - 2 * _PAD, letters) for each in widths]


def _head_size(columns: tuple[Column, ...], widths: list[float], size: float) -> float:
    """The size of the letters of all heads: that of the rows, or less where a syllable would be cut."""
    parts = (
        (syllable, width - 2 * _PAD)
        for column, width in zip(columns, widths, strict=True)
        for word in column.title.split()
        for syllable in _syllables_of(word)
    )
    shares = [room / width_of(part, STRONG, size) for part, room in parts if part]
    return max(min([1.0, *(0.995 * share for share in shares)]) * size, _LEAST_HEAD * min(1.0, size / _SIZE))


def _syllables_of(word: str) -> list[str]:
    """The pieces into which a word may be parted, with their hyphens."""
    *firsts, last = word.split(SOFT_HYPHEN)
    return [*(f"{one}-" for one in firsts), last]


def _size(width: float) -> float:
    """Tables on a narrow page are set smaller, so that words stay whole."""
    return float(_SIZE * min(1.0, (width / _FULL) ** 0.6))


def _widths(table: Table, width: float) -> list[float]:
    """The width of every column: by its share, yet so that nothing in it need be cut if there is room.

    What a column lacks is taken from those that have more than they need: for short cells in one line, else
    for their words and numbers, else for the syllables of the heads alone.
    """
    columns, size = table.columns, _size(width)
    total = sum(column.share for column in columns)
    widths = [width * column.share / total for column in columns]
    needs = [0.0] * len(columns)
    for whole in (True, False, None):
        needs = [
            min(_needed(column, [row[index] for row in table.rows], size, whole), _MOST * width) + 2.0 * _PAD
            for index, column in enumerate(columns)
        ]
        lacking = sum(max(need - each, 0.0) for need, each in zip(needs, widths, strict=True))
        spare = sum(max(each - need, 0.0) for need, each in zip(needs, widths, strict=True))
        if lacking <= spare:
            share = lacking / spare if spare else 0.0
            pairs = zip(needs, widths, strict=True)
            return [need if need > each else each - share * (each - need) for need, each in pairs]
    return [width * need / sum(needs) for need in needs]


def _needed(column: Column, cells: Sequence[object], size: float, whole: bool | None) -> float:
    """The room that a column asks for: of its head and of its cells, short ones `whole`, or their words.

    None asks for its head alone, in letters as small as may be.
    """
    heads = [*column.title.split(), *([column.unit] if column.shows_unit else [])]
    small = _LEAST_HEAD * min(1.0, size / _SIZE)
    pieces = [width_of(part, STRONG, small) for word in heads for part in _syllables_of(word)]
    if whole is not None:
        lines = {line for cell in cells if isinstance(cell, str) for line in cell.split("\n")}
        number = column.align == "decimal"
        parts = {
            part
            for line in lines
            for part in ([line] if number or (whole and len(line) <= _SHORT) else line.split())
        }
        pieces += [width_of(piece, STRONG, size) for part in parts for piece in _syllables_of(part)]
    return max(pieces, default=0.0) + _SLACK


def _heads(columns: tuple[Column, ...], widths: list[float], size: float) -> list[list[str]]:
    kind = Type(STRONG, size)
    titles = [broken(c.title, w - 2 * _PAD, kind) for c, w in zip(columns, widths, strict=True)]
    rows = [titles]
    if any(column.shows_unit for column in columns):
        rows.append([column.unit if column.shows_unit else "" for column in columns])
    if any(column.group for column in columns):
        firsts = [i == 0 or column.group != columns[i - 1].group for i, column in enumerate(columns)]
        groups = [unhyphenated(c.group) if first else "" for c, first in zip(columns, firsts, strict=True)]
        rows.insert(0, groups)
    return rows


def _body(table: Table, widths: list[float], size: float) -> list[list[Any]]:
    """Cells in their fonts; what did not pass is set bold."""
    columns = []
    for index, column in enumerate(table.columns):
        cells = [text for row in table.rows if isinstance(text := row[index], str)]
        columns.append(
            decimal_column(cells, Type(BODY, size)) if column.align == "decimal" and cells else None
        )
    rows = []
    for number, row in enumerate(table.rows):
        cells = []
        for index, (cell, width, measured) in enumerate(zip(row, widths, columns, strict=True)):
            bold = number in table.emphasis or (number, index) in table.strong
            kind = Type(STRONG if bold else BODY, size)
            if isinstance(cell, Strip):
                cells.append(strip_drawing(cell, width - 2 * _PAD))
            elif measured is None:
                cells.append(broken(cell, width - 2 * _PAD, kind))
            else:
                cells.append(cell_of(cell, measured, kind))
        rows.append(cells)
    return rows


def _rules(columns: tuple[Column, ...], heads: int, sizes: tuple[float, float]) -> list[tuple[Any, ...]]:
    """`sizes` are those of the letters of heads and of rows."""
    letters, size = sizes
    units = any(column.shows_unit for column in columns)
    last = heads - 1
    small = ("FONT", (0, last), (-1, last), BODY, _SMALL, _SMALL * LEADING)
    return [
        ("FONT", (0, 0), (-1, last), STRONG, letters, letters * LEADING),
        ("FONT", (0, heads), (-1, -1), BODY, size, size * LEADING),
        ("TEXTCOLOR", (0, 0), (-1, -1), INK),
        *((small, ("TEXTCOLOR", (0, last), (-1, last), GREY)) if units else ()),
        ("VALIGN", (0, 0), (-1, last), "BOTTOM"),
        ("VALIGN", (0, heads), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), _PAD),
        ("RIGHTPADDING", (0, 0), (-1, -1), _PAD),
        ("TOPPADDING", (0, 0), (-1, -1), 1.6),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 1.8),
        *(
            (("BOTTOMPADDING", (0, last - 1), (-1, last - 1), 0), ("TOPPADDING", (0, last), (-1, last), 0))
            if units
            else ()
        ),
        ("LINEABOVE", (0, 0), (-1, 0), 0.9, INK),
        ("LINEBELOW", (0, last), (-1, last), 0.5, INK),
    ]


def _group_style(columns: tuple[Column, ...]) -> list[tuple[Any, ...]]:
    style: list[tuple[Any, ...]] = []
    start = 0
    for group, members in groupby(columns, key=lambda column: column.group):
        stop = start + len(list(members)) - 1
        if group:
            style += [
                ("SPAN", (start, 0), (stop, 0)),
                ("ALIGN", (start, 0), (stop, 0), "CENTRE"),
                ("LINEBELOW", (start, 0), (stop, 0), 0.4, GREY),
            ]
        start = stop + 1
    return style


def _alignment(table: Table, heads: int) -> list[tuple[Any, ...]]:
    """Heads stand over their numbers; in a column of one number of places these align at the right."""
    first = 1 if any(column.group for column in table.columns) else 0
    kinds = {"left": "LEFT", "right": "RIGHT"}
    style: list[tuple[Any, ...]] = []
    for index, column in enumerate(table.columns):
        kind = kinds.get(column.align, "CENTRE")
        style.append(("ALIGN", (index, first), (index, heads - 1), kind))
        if column.align == "right":
            style.append(("ALIGN", (index, heads), (index, -1), "RIGHT"))
    return style
