"""Tables as reportlab flowables: grouped heads that repeat over page breaks, thin rules, decimal columns."""

from itertools import groupby
from typing import Any

from reportlab.platypus import LongTable, TableStyle

from certgen.certificate.cells import LEADING, Type, broken, cell_of, decimal_column
from certgen.certificate.content import Column, Table
from certgen.certificate.look import BODY, GREY, INK, RULE, STRONG
from certgen.certificate.wording import unhyphenated

_SIZE = 7.2
_FULL = 450.0
_PAD = 2.0
# a row is never higher than the smallest page: beyond so many lines it goes on in rows of its own
_MOST_LINES = 40

Cells = list[Any]


def grid(table: Table, width: float) -> Any:
    """Return the table as a flowable of that width (points)."""
    widths, size = _widths(table.columns, width), _size(width)
    heads = _heads(table.columns, widths, size)
    whole = [_parts(cells) for cells in _body(table, widths, size)]
    body = [cells for parts in whole for cells in parts]
    flowable = LongTable([*heads, *body], colWidths=widths, repeatRows=len(heads), splitByRow=1)
    style = [*_rules(len(heads), size), *_group_style(table.columns), *_alignment(table.columns)]
    strong, ends = _places(whole, table.emphasis)
    below = [("LINEBELOW", (0, len(heads) + row), (-1, len(heads) + row), 0.25, RULE) for row in ends]
    last = ("LINEBELOW", (0, -1), (-1, -1), 0.9, INK)
    flowable.setStyle(TableStyle([*style, *below, last, *_bold(strong, len(heads), size)]))
    return flowable


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


def _places(whole: list[list[Cells]], emphasis: frozenset[int]) -> tuple[frozenset[int], list[int]]:
    """Which rows are set bold, and below which a rule stands: all but the last, and none within one row."""
    strong, ends, at = set(), [], 0
    for number, parts in enumerate(whole):
        if number in emphasis:
            strong |= set(range(at, at + len(parts)))
        at += len(parts)
        ends.append(at - 1)
    return frozenset(strong), ends[:-1]


def head_widths(table: Table, width: float) -> list[tuple[float, float]]:
    """Return the room for the head of each column and the size of its letters, in points."""
    return [(each - 2 * _PAD, _size(width)) for each in _widths(table.columns, width)]


def _size(width: float) -> float:
    """Tables on a narrow page are set smaller, so that words stay whole."""
    return float(_SIZE * min(1.0, (width / _FULL) ** 0.6))


def _widths(columns: tuple[Column, ...], width: float) -> list[float]:
    total = sum(column.share for column in columns)
    return [width * column.share / total for column in columns]


def _heads(columns: tuple[Column, ...], widths: list[float], size: float) -> list[list[str]]:
    kind = Type(STRONG, size)
    titles = [broken(c.title, w - 2 * _PAD, kind) for c, w in zip(columns, widths, strict=True)]
    if not any(column.group for column in columns):
        return [titles]
    firsts = [i == 0 or column.group != columns[i - 1].group for i, column in enumerate(columns)]
    return [
        [unhyphenated(c.group) if first else "" for c, first in zip(columns, firsts, strict=True)],
        titles,
    ]


def _body(table: Table, widths: list[float], size: float) -> list[list[Any]]:
    """Cells in their fonts; rows of emphasis are set bold."""
    columns = []
    for index, column in enumerate(table.columns):
        cells = [row[index] for row in table.rows]
        columns.append(
            decimal_column(cells, Type(BODY, size)) if column.align == "decimal" and cells else None
        )
    rows = []
    for number, row in enumerate(table.rows):
        kind = Type(STRONG if number in table.emphasis else BODY, size)
        cells = [
            broken(text, w - 2 * _PAD, kind) if measured is None else cell_of(text, measured, kind)
            for text, w, measured in zip(row, widths, columns, strict=True)
        ]
        rows.append(cells)
    return rows


def _rules(heads: int, size: float) -> list[tuple[Any, ...]]:
    return [
        ("FONT", (0, 0), (-1, heads - 1), STRONG, size, size * LEADING),
        ("FONT", (0, heads), (-1, -1), BODY, size, size * LEADING),
        ("TEXTCOLOR", (0, 0), (-1, -1), INK),
        ("VALIGN", (0, 0), (-1, heads - 1), "BOTTOM"),
        ("VALIGN", (0, heads), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), _PAD),
        ("RIGHTPADDING", (0, 0), (-1, -1), _PAD),
        ("TOPPADDING", (0, 0), (-1, -1), 2.2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2.2),
        ("LINEABOVE", (0, 0), (-1, 0), 0.9, INK),
        ("LINEBELOW", (0, heads - 1), (-1, heads - 1), 0.5, INK),
    ]


def _bold(emphasis: frozenset[int], heads: int, size: float) -> list[tuple[Any, ...]]:
    return [
        ("FONT", (0, heads + row), (-1, heads + row), STRONG, size, size * LEADING)
        for row in sorted(emphasis)
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


def _alignment(columns: tuple[Column, ...]) -> list[tuple[Any, ...]]:
    heads = 2 if any(column.group for column in columns) else 1
    return [
        ("ALIGN", (index, heads - 1), (index, heads - 1), "LEFT" if column.align == "left" else "CENTRE")
        for index, column in enumerate(columns)
    ]
