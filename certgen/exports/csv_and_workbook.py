"""The tables of a certificate as CSV (RFC 4180) and as a workbook, a column for each unit.

A number is the printed one, digit for digit; the full precision is in the JSON results.
"""

import csv
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from io import BytesIO, StringIO
from typing import Any
from unicodedata import normalize

from certgen.document.content import (
    Column,
    Content,
    Facts,
    Notice,
    Parties,
    Signatures,
    Statements,
    Table,
    Verdicts,
    whole_words,
)
from certgen.errors import WrongUsage
from certgen.wording.rounding import MINUS, NOTHING, UNIT_SETS
from certgen.wording.wording import Wording, unhyphenated

_NUMBER = re.compile(rf"(?P<sign>[+{MINUS}]?)(?P<size>\d+(?:[.,]\d+)?)(?: %)?")
_BOUND = re.compile(r"(?P<bound>[<>] )(?P<size>\d+(?:[.,]\d+)?)(?: %)?")
# what stands in a head where both unit systems are printed: "mm/m / thou/ft"
_KINDS = ("slope", "small", "dimension")
_PAIRS = tuple(tuple(getattr(units, kind).sign for units in UNIT_SETS["both"]) for kind in _KINDS)

Cell = str | Decimal
_LONGEST = 40
# a spreadsheet would take such a text for a formula
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_LONGEST_NAME = 31
_NO_NAME = re.compile(r"[\[\]:*?/\\']+")
_WIDEST = 60
# a workbook states when it was made; the same certificate must give the same bytes
_MADE = datetime(2000, 1, 1)  # the format knows no time zone


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
        if column.align != "strip"
        for flat in _columns(column, [str(row[index]) for row in table.rows])
    ]
    heads = tuple(head for head, _ in columns)
    rows = tuple(zip(*(cells for _, cells in columns), strict=True))
    return FlatTable(section, table.caption or section, heads, rows)


def _columns(column: Column, cells: Sequence[str]) -> Iterator[tuple[str, list[Cell]]]:
    """The column, or one for each unit system where its cells hold a line for each."""
    lines = [cell.split("\n") for cell in cells]
    measured = column.align in {"decimal", "right"} or bool(column.unit)
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
    if depth == 1:
        return head
    one = head
    for pair in _PAIRS:
        one = one.replace(" / ".join(pair), pair[index])
    # two lines of one unit, as the residuals at both ends of a seating, are numbered
    return f"{one} ({index + 1})" if one == head and index else one


def csv_files(content: Content) -> Mapping[str, bytes]:
    """Return name and bytes of every file: what is said once, then the tables in reading order."""
    files = {"00_certificate.csv": _csv(summary(content))}
    for number, table in enumerate(flat_tables(content), 1):
        files[f"{number:02}_{_slug(table.title)}.csv"] = _csv([table.heads, *table.rows])
    return files


def summary(content: Content) -> list[tuple[str, ...]]:
    """Return what the certificate says once: identification, verdicts, facts, who signs."""
    rows = [(content.title, content.identification)]
    for section in content.sections:
        for block in section.blocks:
            if isinstance(block, Verdicts):
                rows += [(box.title, f"{box.verdict}: {box.sentence}") for box in block.boxes]
            elif isinstance(block, Notice):
                rows += [(block.title, str(text)) for text in block.texts]
            elif isinstance(block, Facts | Statements):
                rows += [(label, str(text)) for label, text in block.pairs]
            elif isinstance(block, Parties):
                rows += [(label, ", ".join(lines)) for label, lines in block.columns]
            elif isinstance(block, Signatures):
                rows += block.places
    return [(unhyphenated(label), value) for label, value in rows]


def _csv(rows: Iterable[Sequence[Cell]]) -> bytes:
    stream = StringIO(newline="")
    csv.writer(stream).writerows([[_text(cell) for cell in row] for row in rows])
    return stream.getvalue().encode()


def _text(cell: Cell) -> str:
    if isinstance(cell, Decimal):
        return f"{cell:f}"
    return f"'{cell}" if cell.startswith(_FORMULA) else cell


def _slug(title: str) -> str:
    """What a table is called, up to its first comma or colon, in letters that every file system has."""
    start = re.split(r"[,:(]", title)[0]
    letters = normalize("NFKD", start).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "_", letters)[:_LONGEST].strip("_") or "table"


def workbook(content: Content, wording: Wording) -> bytes:
    """Return the workbook; deterministic for the same certificate."""
    try:
        from xlsxwriter import Workbook
    except ImportError:
        raise WrongUsage("A workbook needs XlsxWriter: pip install 'certgen[xlsx]'.") from None
    buffer = BytesIO()
    book = Workbook(buffer, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    title = f"{content.title}, {content.identification}"
    book.set_properties({"title": title, "author": content.author, "created": _MADE})
    _fill(book, wording.word("workbook_summary"), [], summary(content))
    for number, table in enumerate(flat_tables(content), 1):
        name = f"{number} {_NO_NAME.sub(' ', table.title)}"[:_LONGEST_NAME].strip()
        sheet = _fill(book, name, [(table.title,), table.heads], table.rows)
        sheet.freeze_panes(2, 1)
    book.close()
    return buffer.getvalue()


def _fill(book: Any, name: str, heads: Sequence[Sequence[str]], rows: Sequence[Sequence[Cell]]) -> Any:
    sheet = book.add_worksheet(name)
    strong = book.add_format({"bold": True, "text_wrap": len(heads) > 1, "valign": "bottom"})
    for line, row in enumerate((*heads, *rows)):
        for column, cell in enumerate(row):
            _write(book, sheet, (line, column), (cell, strong if line < len(heads) else None))
    for column, width in enumerate(_widths(rows)):
        sheet.set_column(column, column, width)
    return sheet


def _write(book: Any, sheet: Any, at: tuple[int, int], what: tuple[Cell, Any]) -> None:
    cell, form = what
    if isinstance(cell, Decimal):
        sheet.write_number(*at, float(cell), _format(book, cell))
    else:
        sheet.write_string(*at, cell, form)


def _format(book: Any, number: Decimal) -> Any:
    """The number with as many decimals as it is printed with."""
    exponent = number.as_tuple().exponent
    places = -exponent if isinstance(exponent, int) and exponent < 0 else 0
    known: dict[int, Any] = book.__dict__.setdefault("certgen_formats", {})
    if places not in known:
        known[places] = book.add_format({"num_format": "0." + "0" * places if places else "0"})
    return known[places]


def _widths(rows: Sequence[Sequence[Cell]]) -> list[int]:
    longest = [max((len(str(cell)) for cell in cells), default=0) for cells in zip(*rows, strict=True)]
    return [min(_WIDEST, max(9, letters + 2)) for letters in longest]
