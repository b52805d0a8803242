"""Tables of a certificate flattened for machines: one head a column, a column for each unit.

A number is the printed one, digit for digit; the full precision is in the JSON results.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from certgen.certificate.content import Column, Content, Table
from certgen.certificate.plain_tables import whole_words
from certgen.certificate.rounding import MINUS, NOTHING, UNIT_SETS

_NUMBER = re.compile(rf"(?P<sign>[+{MINUS}]?)(?P<size>\d+(?:[.,]\d+)?)(?: %)?")
_BOUND = re.compile(r"(?P<bound>[<>] )(?P<size>\d+(?:[.,]\d+)?)(?: %)?")
# what stands in a head where both unit systems are printed: "mm/m / thou/ft"
_KINDS = ("slope", "small", "dimension")
_PAIRS = tuple(tuple(getattr(units, kind).sign for units in UNIT_SETS["both"]) for kind in _KINDS)

Cell = str | Decimal


@dataclass(frozen=True, slots=True)
class FlatTable:
    """A table with one row of heads; numbers keep their printed digits. `section` is where it stands."""

    section: str
    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


def flat_tables(content: Content) -> tuple[FlatTable, ...]:
    """Return every table of the certificate in reading order."""
    return tuple(
        _flat(section.title, whole_words(block))
        for section in content.sections
        for block in section.blocks
        if isinstance(block, Table)
    )


def _flat(section: str, table: Table) -> FlatTable:
    columns = [
        flat
        for index, column in enumerate(table.columns)
        for flat in _columns(column, [row[index] for row in table.rows])
    ]
    heads = tuple(head for head, _ in columns)
    rows = tuple(zip(*(cells for _, cells in columns), strict=True))
    return FlatTable(section, table.caption or section, heads, rows)


def _columns(column: Column, cells: Sequence[str]) -> Iterator[tuple[str, list[Cell]]]:
    """The column, or one for each unit system where its cells hold a line for each."""
    lines = [cell.split("\n") for cell in cells]
    measured = column.align == "decimal" or bool(column.unit)
    depth = max(map(len, lines), default=1) if measured else 1
    for index in range(depth):
        texts = [_line(parts, index, depth) for parts in lines]
        percent = measured and any(text.endswith(" %") for text in texts)
        made = [_cell(text) if measured else text for text in texts]
        yield _head(column, index, depth) + (", %" if percent else ""), made


def _line(parts: Sequence[str], index: int, depth: int) -> str:
    if depth == 1:
        return ", ".join(parts)
    return parts[index] if len(parts) > index else parts[0] if len(parts) == 1 else ""


def _cell(text: str) -> Cell:
    """A number, nothing for a dash, a bound without its unit, else the text."""
    if text == NOTHING:
        return ""
    if found := _NUMBER.fullmatch(text):
        return Decimal(found["sign"].replace(MINUS, "-") + found["size"].replace(",", "."))
    if found := _BOUND.fullmatch(text):
        return found["bound"] + found["size"].replace(",", ".")
    return text


def _head(column: Column, index: int, depth: int) -> str:
    """Group, title and unit; of a pair of units the one of this column."""
    group, unit = column.group, column.unit
    if not unit and (group in map(" / ".join, _PAIRS) or group in {sign for pair in _PAIRS for sign in pair}):
        group, unit = "", group
    head = ", ".join(part for part in (group, column.title, unit) if part)
    for pair in _PAIRS if depth > 1 else ():
        head = head.replace(" / ".join(pair), pair[index])
    return head
