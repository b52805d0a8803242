"""The tables of a certificate as a workbook: a sheet each, numbers as numbers with the printed digits."""

import re
from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from io import BytesIO
from typing import Any

from certgen.certificate.content import Content
from certgen.certificate.exports_csv import summary
from certgen.certificate.exports_flat import Cell, FlatTable, flat_tables
from certgen.certificate.wording import Wording
from certgen.errors import WrongUsage

_LONGEST_NAME = 31
_NO_NAME = re.compile(r"[\[\]:*?/\\']+")
_WIDEST = 60
# a workbook states when it was made; the same certificate must give the same bytes
_MADE = datetime(2000, 1, 1)  # the format knows no time zone


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
        _sheet(book, number, table)
    book.close()
    return buffer.getvalue()


def _sheet(book: Any, number: int, table: FlatTable) -> None:
    name = f"{number} {_NO_NAME.sub(' ', table.title)}"[:_LONGEST_NAME].strip()
    sheet = _fill(book, name, [(table.title,), table.heads], table.rows)
    sheet.freeze_panes(2, 1)


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
