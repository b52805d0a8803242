"""CSV and workbook: the printed numbers as numbers, every verdict, heads with units, the same bytes again."""

import csv
import re
from decimal import Decimal
from functools import cache
from io import BytesIO, StringIO
from pathlib import Path
from zipfile import ZipFile

import pytest

from certgen import resources
from certgen.document.compose import compose
from certgen.document.content import Column, Content, Table, Verdicts
from certgen.exports.csv_and_workbook import csv_files, flat_tables, workbook
from certgen.resources import LANGUAGES
from certgen.wording.wording import Wording
from tests.certificate.samples import WORDING, changed, sample

openpyxl = pytest.importorskip("openpyxl", reason="no openpyxl to read the workbook back")
pytest.importorskip("xlsxwriter", reason="no XlsxWriter to make a workbook")

NAMES = ("tutorial", "winder_inch", "coater_mm", "dryer_mixed", "unwind_wide")


@cache
def content(name: str, language: str = "en") -> Content:
    """Return the records of a sample."""
    return compose(sample(name), Wording(resources.templates(), language))


def rows_of(data: bytes) -> list[list[str]]:
    """Read a CSV file back as RFC 4180 says."""
    return list(csv.reader(StringIO(data.decode("utf-8"), newline=""), strict=True))


def printed_numbers(records: Content) -> list[str]:
    """Return every number in a column of numbers, with point and hyphen, in reading order of the cells."""
    tables = [block for part in records.sections for block in part.blocks if isinstance(block, Table)]
    lines = [
        line
        for table in tables
        for row in table.rows
        for cell, column in zip(row, table.columns, strict=True)
        if column.align in {"decimal", "right"}
        for line in cell.split("\n")
    ]
    plain = (line.removesuffix(" %").replace("−", "-").replace("+", "").replace(",", ".") for line in lines)
    return [line for line in plain if re.fullmatch(r"-?\d+(\.\d+)?", line)]


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", NAMES)
def test_csv_holds_every_printed_number(name: str, language: str) -> None:
    """Digit for digit, with a point whatever the language."""
    records = content(name, language)
    cells = [cell for data in csv_files(records).values() for row in rows_of(data) for cell in row]
    numbers = sorted(cell for cell in cells if re.fullmatch(r"-?\d+(\.\d+)?", cell))
    missing = list(printed_numbers(records))
    assert len(missing) > 50
    for number in numbers:
        if number in missing:
            missing.remove(number)
    assert missing == []


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", NAMES)
def test_csv_holds_every_verdict(name: str, language: str) -> None:
    """Those of the line in the first file, those of the rolls in their tables."""
    records, files = content(name, language), csv_files(content(name, language))
    boxes = [
        box
        for part in records.sections
        for block in part.blocks
        if isinstance(block, Verdicts)
        for box in block.boxes
    ]
    once = dict(row for row in rows_of(files["00_certificate.csv"]) if len(row) == 2)
    assert all(once[box.title] == f"{box.verdict}: {box.sentence}" for box in boxes)
    wording = Wording(resources.templates(), language)
    cells = {cell.split(", ")[0] for data in files.values() for row in rows_of(data) for cell in row}
    for roll in sample(name).rolls:
        assert wording.word(roll.parallel.verdict("as_left")) in cells
        assert wording.word(roll.level.verdict("as_found")) in cells


@pytest.mark.parametrize("name", NAMES)
def test_csv_is_as_the_standard_says(name: str) -> None:
    """RFC 4180: every row as long as its head, line ends CR LF, every table a file, UTF-8 without a mark."""
    files = csv_files(content(name))
    assert len(files) == 1 + len(flat_tables(content(name)))
    for data in files.values():
        assert data.endswith(b"\r\n")
        assert data.count(b"\n") == data.count(b"\r\n")
        assert not data.startswith(b"\xef\xbb\xbf")
        assert len({len(row) for row in rows_of(data)}) == 1
    assert all(re.fullmatch(r"\d\d_[a-z0-9_]+\.csv", file) for file in files)


def test_heads_state_the_unit_of_their_column() -> None:
    """A column for each unit system; without one, the unit of the page."""
    tables = {one.title: one.heads for one in flat_tables(content("dryer_mixed"))}
    figures = next(heads for title, heads in tables.items() if title.startswith("Level: target"))
    assert figures[1:3] == ("As found, Slope, mm/m", "As found, Slope, thou/ft")
    results = next(heads for title, heads in tables.items() if title.startswith("Level, positive"))
    assert results[2:5] == ("As found, Error, mm/m", "As found, U, mm/m", "As found, Error, thou/ft")
    first = flat_tables(content("winder_inch"))[0].heads
    assert first[3:5] == ("As found, thou", "As left, thou")
    rolls = next(one for one in flat_tables(content("winder_inch")) if one.title.startswith("Rolls in the"))
    assert rolls.heads[2] == "Station, in"


@pytest.mark.parametrize("name", NAMES)
def test_heads_of_a_table_differ(name: str) -> None:
    """Else a column could not be told from another."""
    for table in flat_tables(content(name)):
        assert len(set(table.heads)) == len(table.heads), table.title


def test_text_that_looks_like_a_formula_is_text(tmp_path: Path) -> None:
    """A spreadsheet shows it and computes nothing."""
    formula = "=1+2"
    line = changed(tmp_path, "tutorial", (sample("tutorial").survey.customer.name, f'"{formula}"'))
    records = compose(line, WORDING)
    once = rows_of(csv_files(records)["00_certificate.csv"])
    assert ["Customer", "'=1+2"] in once
    book = openpyxl.load_workbook(BytesIO(workbook(records, WORDING)))
    cells = [cell for row in book["Summary"].iter_rows() for cell in row if cell.value == formula]
    assert [cell.data_type for cell in cells] == ["s"]


@pytest.mark.parametrize("name", NAMES)
def test_workbook_holds_the_tables_with_numbers_as_numbers(name: str) -> None:
    """Cell by cell what the flat tables hold, shown with as many decimals as are printed."""
    book = openpyxl.load_workbook(BytesIO(workbook(content(name), WORDING)))
    tables = flat_tables(content(name))
    assert len(book.sheetnames) == 1 + len(tables)
    for title, table in zip(book.sheetnames[1:], tables, strict=True):
        sheet = list(book[title].iter_rows())
        assert [cell.value or "" for cell in sheet[1]] == list(table.heads)
        for shown, row in zip(sheet[2:], table.rows, strict=True):
            for cell, made in zip(shown, row, strict=True):
                assert_same(cell, made)


def assert_same(cell: object, made: Decimal | str) -> None:
    """Compare a cell of a workbook with what it was made of."""
    value, form = getattr(cell, "value", None), getattr(cell, "number_format", "")
    if isinstance(made, Decimal):
        assert value == pytest.approx(float(made), rel=1e-12)
        assert len(form.partition(".")[2]) == max(0, -int(made.as_tuple().exponent))
    else:
        assert (value or "") == made


def test_workbook_is_the_same_bytes_again() -> None:
    """No moment and no machine in it."""
    data = workbook(content("winder_inch"), WORDING)
    assert data == workbook(content("winder_inch"), WORDING)
    assert b"2000-01-01" in ZipFile(BytesIO(data)).read("docProps/core.xml")


def test_identifiers_stay_text() -> None:
    """A roll called 007 is no number."""
    table = Table("Rolls", (Column("Roll", "left"), Column("Slope", unit="mm/m")), (("007", "+0.10"),))
    records = content("tutorial")
    section = type(records.sections[0])("S", (table,))
    flat = flat_tables(Content(*("",) * 5, sections=(section,), end=""))
    assert flat[0].rows == (("007", Decimal("0.10")),)
