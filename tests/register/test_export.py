"""A register as tables and as a folder: complete, harmless to open, and checked against its digests."""

import csv
import json
import re
from hashlib import sha256
from html.parser import HTMLParser
from io import BytesIO, StringIO

import pytest
from openpyxl import load_workbook

from certgen.errors import RegisterBroken
from certgen.register.entries import PDF, By
from certgen.register.export import COLUMNS, as_csv, as_json, as_xlsx, folder_files
from certgen.register.find import Kept, Wanted, find, kept
from certgen.register.marks import Relying, certificates_of, dispose, note, withdraw
from certgen.register.register import Register
from tests.register.fakes import LATER, WHEN, signed, small
from tests.register.tamper import tamper

ODD = small("A/2 <b>", line='=HYPERLINK("x")', customer="Ä & Sons, “Ltd”", order='"quoted"\nthing')


@pytest.fixture
def filled(register: Register) -> Register:
    """One plain certificate and one with everything a table could stumble over."""
    register.by = By("clerk", "desk-2")
    register.add(small("A-1"), WHEN)
    register.add(ODD, WHEN)
    return register


def entries(register: Register) -> list[Kept]:
    """Return all certificates."""
    return kept(register, Wanted(), register.head().count)


def test_csv_reads_back(filled: Register) -> None:
    """One row for each certificate; a text that would be a formula is one no longer."""
    text = as_csv(entries(filled), filled.head()).decode("utf-8-sig")
    plain, odd = csv.DictReader(StringIO(text, newline=""))
    assert tuple(plain) == COLUMNS
    assert (plain["number"], plain["recorded"]) == ("A-1", WHEN)
    assert plain["register_head"] == odd["register_head"] == str(filled.head())
    assert plain["recorded_by"] == "clerk at desk-2"
    assert (
        plain["instruments"]
        == "sweeping laser SL-0417, due 2027-02-11; precision level PL-22, due 2027-01-20"
    )
    assert odd["line"] == '\'=HYPERLINK("x")'
    assert odd["order"] == '"quoted"\nthing'


def test_json_holds_the_entries_themselves(filled: Register) -> None:
    """As the chain covers them, with the head."""
    read = json.loads(as_json(entries(filled), filled.head()))
    assert read["head"] == str(filled.head())
    assert read["entries"][0] == filled.body("A-1")


def test_workbook_holds_texts_and_no_formula(filled: Register) -> None:
    """Texts as texts, counts as counts."""
    sheet = load_workbook(BytesIO(as_xlsx(entries(filled), filled.head()))).active
    rows = [[cell.value for cell in row] for row in sheet.iter_rows()]
    assert rows[0] == list(COLUMNS)
    assert rows[1][:4] == [1, WHEN, "A-1", 0]
    assert all(cell.data_type in "nsi" for row in sheet.iter_rows() for cell in row)


class _Links(HTMLParser):
    """Collects what a page links to and the text it shows."""

    def __init__(self) -> None:
        super().__init__()
        self.links: list[str] = []
        self.shown = ""

    def handle_starttag(self, _tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.links += [value or "" for name, value in attrs if name in ("href", "src")]

    def handle_data(self, data: str) -> None:
        self.shown += data


def test_folder_leads_to_every_pdf(filled: Register) -> None:
    """The index needs nothing from outside, links each PDF, and shows what stands in it letter for letter."""
    files = dict(folder_files(filled, entries(filled), filled.head()))
    page = _Links()
    page.feed(files["index.html"].decode())
    assert page.links == ["000001_A-1_0.pdf", "000002_A_2_b__0.pdf"]
    assert set(page.links) <= set(files)
    assert "A/2 <b>" in page.shown
    assert ODD.certificate.customer in page.shown
    assert str(filled.head()) in page.shown
    assert list(files)[-1] == "index.html"


def test_folder_parts_long_numbers_only(register: Register) -> None:
    """A number of ordinary length stays in one piece, one that would push the digests out does not."""
    long = "N" * 60
    for number in ("NB2020/118", long):
        register.add(small(number), WHEN)
    page = dict(folder_files(register, entries(register), register.head()))["index.html"].decode()
    assert '<span class="whole">NB2020/118</span>' in page
    assert f'<span class="long">{long}</span>' in page


def test_replaced_certificate_says_so_everywhere(filled: Register) -> None:
    """In every table and in the index, by what."""
    filled.add(small("B-7", 1, issued="2026-11-01", supersedes="A-1, revision 0"), WHEN)
    found = entries(filled)
    (old, *others) = csv.DictReader(StringIO(as_csv(found, filled.head()).decode("utf-8-sig"), newline=""))
    assert (old["replaced_by"], {one["replaced_by"] for one in others}) == ("B-7, revision 1", {""})
    assert json.loads(as_json(found, filled.head()))["replaced_by"] == {"1": "B-7, revision 1"}
    sheet = load_workbook(BytesIO(as_xlsx(found, filled.head()))).active
    assert [sheet.cell(line, COLUMNS.index("replaced_by") + 1).value for line in (1, 2)] == [
        "replaced_by",
        "B-7, revision 1",
    ]
    page = dict(folder_files(filled, found, filled.head()))["index.html"].decode()
    assert page.count('<td>replaced by <span class="whole">B-7,</span> revision 1</td>') == 1
    assert page.count("<td>not replaced</td>") == 2


def test_later_entries_are_exported(filled: Register) -> None:
    """Withdrawn, noted, disposed of: with their reasons, in every table and in the index."""
    (of,) = certificates_of(filled, "A-1", None)
    withdraw(filled, of, "slip of the pen", WHEN)
    note(filled, Relying("SL-0417"), "0.02 mm/m off", WHEN)
    dispose(filled, [of], "ten years over", LATER)
    found = entries(filled)
    (old, other) = csv.DictReader(StringIO(as_csv(found, filled.head()).decode("utf-8-sig"), newline=""))
    assert old["withdrawn"] == f"{WHEN}: slip of the pen"
    assert old["disposed"] == f"{LATER}: ten years over"
    assert (old["notes"], other["notes"]) == ("", f"{WHEN}: 0.02 mm/m off")
    files = dict(folder_files(filled, found, filled.head()))
    assert "000001_A-1_0.pdf" not in files
    page = files["index.html"].decode()
    assert "withdrawn: slip of the pen; disposed of: ten years over" in page
    assert page.count("href=") == 1
    kinds = [one["kind"] for one in json.loads(as_json(found, filled.head()))["entries"]]
    assert kinds == ["certificate", "certificate", "withdrawn", "note", "disposed"]


def test_signed_form_is_exported(filled: Register) -> None:
    """Its bytes under the name of the certificate, its digest, and the entry by which it was added."""
    held = signed(small("A-1"))
    filled.add(held, WHEN)
    found = entries(filled)
    assert [one.pdf for one in found] == [one.pdf_sha256 for one in find(filled, Wanted())]
    files = dict(folder_files(filled, found, filled.head()))
    assert files["000001_A-1_0.pdf"] == held.files[PDF]
    assert sha256(held.files[PDF]).hexdigest() in files["index.html"].decode()
    told = json.loads(files["register.json"])["entries"]
    assert [(one["kind"], one["sequence"]) for one in told] == [
        ("certificate", 1), ("certificate", 2), ("signature", 3),
    ]  # fmt: skip
    (first, second) = csv.DictReader(StringIO(as_csv(found, filled.head()).decode("utf-8-sig"), newline=""))
    assert (first["signed"], second["signed"]) == (WHEN, "")
    assert kept(filled, Wanted(), 2)[0].signatures == ()


def test_folder_digests_are_those_of_its_files(filled: Register) -> None:
    """In the form that sha256sum checks."""
    files = dict(folder_files(filled, entries(filled), filled.head()))
    lines = re.findall(r"^(\w{64})  (.+)$", files["SHA256SUMS"].decode(), re.MULTILINE)
    assert [sha256(files[name]).hexdigest() for _, name in lines] == [digest for digest, _ in lines]
    assert [name for _, name in lines][2:] == ["register.csv", "register.json"]


def test_folder_of_a_changed_register_is_refused(filled: Register, where: str) -> None:
    """A PDF that is not what was added is never handed to an auditor."""
    tamper(where, ["UPDATE files SET data = (SELECT data FROM files ORDER BY sha256 LIMIT 1)"])
    with pytest.raises(RegisterBroken, match=r"certificate\.pdf of certificate A.*audit"):
        dict(folder_files(filled, entries(filled), filled.head()))
