"""Tables of the certificate as plain text for a terminal."""

import re
from collections.abc import Sequence

from certgen.document.content import Column, Table, whole_words

# the point or the comma of a language
_DECIMAL = re.compile(r"[.,](?=\d)")


def text_table(table: Table) -> str:
    """Return a table as lines of text: caption, heads, rows; numbers aligned on the decimal sign."""
    table = whole_words(table)
    rows = [line for row in table.rows for line in _lines([str(cell) for cell in row])]
    columns = [_aligned(column, [row[i] for row in rows]) for i, column in enumerate(table.columns)]
    units = [column.unit if column.shows_unit else "" for column in table.columns]
    widths = [
        max(map(len, (column.title, unit, *cells)))
        for column, unit, cells in zip(table.columns, units, columns, strict=True)
    ]
    heads = [
        _groups(table.columns, widths),
        _row([column.title for column in table.columns], widths, table.columns),
        _row(units, widths, table.columns),
    ]
    body = [_row(cells, widths, table.columns) for cells in zip(*columns, strict=True)]
    return "\n".join(line.rstrip() for line in (table.caption, *heads, *body, table.note) if line.strip())


def _lines(row: Sequence[str]) -> list[list[str]]:
    """A cell of two lines makes two rows."""
    parts = [cell.split("\n") for cell in row]
    depth = max(map(len, parts))
    return [[part[i] if i < len(part) else "" for part in parts] for i in range(depth)]


def _aligned(column: Column, cells: Sequence[str]) -> list[str]:
    if column.align != "decimal":
        return list(cells)
    tails = [len(cell) - found.start() if (found := _DECIMAL.search(cell)) else 0 for cell in cells]
    widest = max(tails, default=0)
    return [cell + " " * (widest - tail) if cell else "" for cell, tail in zip(cells, tails, strict=True)]


def _row(cells: Sequence[str], widths: Sequence[int], columns: Sequence[Column]) -> str:
    return "  ".join(
        cell.ljust(width) if column.align == "left" else cell.rjust(width)
        for cell, width, column in zip(cells, widths, columns, strict=True)
    )


def _groups(columns: Sequence[Column], widths: Sequence[int]) -> str:
    """Each group's head stands over its first column."""
    line = ""
    at = 0
    for index, (column, width) in enumerate(zip(columns, widths, strict=True)):
        if column.group and (index == 0 or column.group != columns[index - 1].group):
            line = line.ljust(at) + column.group
        at += width + 2
    return line
