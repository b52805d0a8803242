"""The tables of a certificate as CSV (RFC 4180: comma, quotes where needed, CRLF), UTF-8, a file each."""

import csv
import re
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from io import StringIO
from unicodedata import normalize

from certgen.certificate.content import Content, Facts, Notice, Signatures, Verdicts
from certgen.certificate.exports_flat import Cell, flat_tables
from certgen.certificate.wording import unhyphenated

_LONGEST = 40
# a spreadsheet would take such a text for a formula
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


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
                rows += [(box.title, f"{box.verdict} ({box.detail})") for box in block.boxes]
            elif isinstance(block, Notice):
                rows += [(block.title, str(text)) for text in block.texts]
            elif isinstance(block, Facts):
                rows += block.pairs
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
