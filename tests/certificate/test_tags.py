"""What a reader hears: the tree of a tagged document (ISO 32000-1:2008, 14.7), read without the validator."""

import re
from collections.abc import Iterator
from functools import cache
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from certgen.document.compose import compose
from certgen.document.content import Figure, Table
from certgen.pdf.pdf_document import certificate_pdf
from certgen.pdf.structure import with_artifacts
from certgen.verify.pdf_bytes import revisions
from certgen.verify.visible_text import letters_of
from tests.certificate.reports import KINDS, report
from tests.certificate.samples import WORDING, sample

SAMPLES = ("coater_mm", "winder_inch", "tutorial")
_MARK = re.compile(rb"/(\w+) << /MCID (\d+) >> BDC|/(Artifact) BMC|EMC")
_SHOWN = re.compile(rb"/(F\d\+\d) [\d.]+ Tf|\(((?:[^()\\]|\\.)*)\) Tj", re.DOTALL)
_ESCAPE = re.compile(rb"\\([0-7]{3}|.)", re.DOTALL)


@cache
def pdf(name: str) -> bytes:
    """Return a sample's certificate."""
    return certificate_pdf(sample(name), WORDING, "A4")


class Node:
    """An element as it stands in a file: its role, its keys, what is below it."""

    def __init__(self, value: Any, texts: dict[tuple[int, int], str], pages: dict[int, int]) -> None:
        self.keys = value
        self.role = str(value["/S"])[1:]
        self.kids: list[Node] = []
        self.pieces: list[tuple[int, int]] = []
        home = pages[value.raw_get("/Pg").idnum] if "/Pg" in value else -1
        kids = value.get("/K", [])
        for kid in kids if isinstance(kids, list) else [kids]:
            found = kid.get_object()
            if isinstance(found, int):
                self.pieces.append((home, found))
            elif found.get("/Type") == "/MCR":
                self.pieces.append((pages[found.raw_get("/Pg").idnum], found["/MCID"]))
            else:
                self.kids.append(Node(found, texts, pages))
        self.text = " ".join([*(texts[one] for one in self.pieces), *(kid.text for kid in self.kids)])

    def every(self) -> "Iterator[Node]":
        """Yield it and all below it, in reading order."""
        yield self
        for kid in self.kids:
            yield from kid.every()


def content(data: bytes) -> tuple[dict[tuple[int, int], str], list[str]]:
    """Return the texts of every piece of content by page and number, and those of the artifacts."""
    file = revisions(data)[0]
    texts: dict[tuple[int, int], str] = {}
    outside: list[str] = []
    for page, keys in enumerate(file.pages()):
        code = file.at(keys["Contents"]).data
        fonts = file.at(file.at(keys["Resources"])["Font"])
        letters = {name: letters_of(file, file.at(one)) for name, one in fonts.items()}
        font, within, at = "", None, 0
        for mark in [*_MARK.finditer(code), None]:
            end = len(code) if mark is None else mark.start()
            found = []
            for shown in _SHOWN.finditer(code, at, end):
                if shown[1]:
                    font = shown[1].decode()
                else:
                    plain = _ESCAPE.sub(
                        lambda one: bytes([int(one[1], 8)]) if one[1].isdigit() else one[1], shown[2]
                    )
                    found.append("".join(letters[font][sign] for sign in plain))
            text = "".join(found)
            if isinstance(within, int):
                texts[page, within] = text
            elif within == "artifact":
                outside.append(text)
            else:
                assert not text  # nothing is drawn outside of both
            at = end if mark is None else mark.end()
            within = None if mark is None or mark[0] == b"EMC" else "artifact" if mark[3] else int(mark[2])
    return texts, outside


@cache
def tree(data: bytes) -> Node:
    """Return the tree of a document."""
    reader = PdfReader(BytesIO(data))
    pages = {
        page.indirect_reference.idnum: at for at, page in enumerate(reader.pages) if page.indirect_reference
    }
    document: Any = reader.root_object["/StructTreeRoot"]
    return Node(document["/K"].get_object(), content(data)[0], pages)


@pytest.mark.parametrize("name", SAMPLES)
def test_everything_that_is_drawn_is_read_once(name: str) -> None:
    """Every piece belongs to one element, but heads and feet of pages and heads said before."""
    texts, outside = content(pdf(name))
    pieces = [piece for node in tree(pdf(name)).every() for piece in node.pieces]
    assert sorted(pieces) == sorted(texts)
    head = sample(name).survey
    running = {head.contractor.name, head.certificate.number, "Roll alignment certificate"}
    again = {plain("".join(column.title for column in table.columns)) for table in tables(name)}
    for text in filter(str.strip, outside):
        assert any(part in text for part in running) or any(one in plain(text) for one in again), text


@pytest.mark.parametrize("name", SAMPLES)
def test_parent_tree_leads_back(name: str) -> None:
    """From a number on a page to the element that holds it (14.7.4.4)."""
    reader = PdfReader(BytesIO(pdf(name)))
    root: Any = reader.root_object["/StructTreeRoot"]
    leaf = root["/ParentTree"]["/Kids"][0].get_object()["/Nums"]
    lists = dict(zip(leaf[::2], leaf[1::2], strict=True))
    for at, page in enumerate(reader.pages):
        assert page["/StructParents"] == at
        for number, reference in enumerate(lists[at].get_object()):
            kids = reference.get_object()["/K"]
            numbers = [
                one if isinstance(one, int) else one.get_object().get("/MCID")
                for one in (kids if isinstance(kids, list) else [kids])
            ]
            assert number in numbers


@pytest.mark.parametrize("name", SAMPLES)
def test_tables_are_those_of_the_certificate(name: str) -> None:
    """Every one once, however many pages it takes: its caption, its rows, equal columns, heads with scope."""
    wanted = tables(name)
    found = [node for node in tree(pdf(name)).every() if node.role == "Table"]
    assert len(found) == len(wanted)
    for node, table in zip(found, wanted, strict=True):
        rows = [kid for kid in node.kids if kid.role == "TR"]
        assert not table.caption or plain(table.caption) in plain(node.kids[0].text)
        heads = 1 + any(c.shows_unit for c in table.columns) + any(c.group for c in table.columns)
        assert len(rows) >= heads + len(table.rows) + len(table.groups)
        for row in rows:
            widths = [int(cell.keys.get("/A", {}).get("/ColSpan", 1)) for cell in row.kids]
            assert sum(widths) == len(table.columns)
            assert all((cell.role == "TH") == ("/Scope" in cell.keys.get("/A", {})) for cell in row.kids)
        titles = [cell.text for row in rows[:heads] for cell in row.kids if cell.role == "TH"]
        assert {plain(c.title) for c in table.columns if c.title} <= {plain(one) for one in titles}
        first = [cell for row in rows[heads:] for cell in row.kids[:1] if cell.text.strip()]
        assert all(cell.role == "TH" for cell in first)


def tables(name: str) -> list[Table]:
    """Return the tables of a sample's certificate."""
    sections = compose(sample(name), WORDING).sections
    return [block for section in sections for block in section.blocks if isinstance(block, Table)]


def plain(text: str) -> str:
    """Return a text without what only parts its words."""
    return re.sub(r"[\s\u00ad-]", "", text)


@pytest.mark.parametrize("name", SAMPLES)
def test_figures_say_what_they_show(name: str) -> None:
    """In words, with their place on the page."""
    figures = [node for node in tree(pdf(name)).every() if node.role == "Figure"]
    blocks = [
        block.name
        for section in compose(sample(name), WORDING).sections
        for block in section.blocks
        if isinstance(block, Figure)
    ]
    assert len(figures) >= len(blocks)
    for node in figures:
        assert len(node.keys["/Alt"]) > 20
        left, bottom, right, top = node.keys["/A"]["/BBox"]
        assert 0 <= left < right <= 596
        assert 0 <= bottom < top <= 842


@pytest.mark.parametrize("name", SAMPLES)
def test_heads_follow_each_other(name: str) -> None:
    """One title, then the heads of all sections that have one on paper."""
    heads = [node for node in tree(pdf(name)).every() if re.fullmatch(r"H\d", node.role)]
    assert [node.role for node in heads].count("H1") == 1
    assert heads[0].role == "H1"
    sections = [section.head for section in compose(sample(name), WORDING).sections if not section.one_page]
    assert [plain(node.text) for node in heads[1:] if node.role == "H2"][-len(sections) :] == [
        plain(one) for one in sections
    ]


def test_paragraph_over_two_pages_is_one() -> None:
    """Points and paragraphs of small paper, where some are broken."""
    data = certificate_pdf(sample("winder_inch"), WORDING, "A5")
    over = [node for node in tree(data).every() if len({page for page, _ in node.pieces}) > 1]
    assert over
    assert all(node.role in {"P", "LBody"} for node in over)


def test_words_at_the_end_of_a_line_do_not_run_into_the_next() -> None:
    """As they stand in the certificate, read aloud."""
    words = tree(pdf("tutorial")).text.split()
    for text in WORDING.paragraphs("closing"):
        spoken = str(text).split()
        assert any(words[at : at + len(spoken)] == spoken for at in range(len(words)))


@pytest.mark.parametrize("kind", KINDS)
def test_reports_are_tagged(kind: str) -> None:
    """Everything in them is read, too."""
    data = report(kind)
    texts, _ = content(data)
    assert sorted(piece for node in tree(data).every() for piece in node.pieces) == sorted(texts)


def test_what_paints_outside_of_elements_is_an_artifact() -> None:
    """And what only sets colours is not."""
    code = ["q", "1 0 0 rg", "/P << /MCID 0 >> BDC", "BT (a) Tj ET", "EMC", "0 0 m 1 1 l S", "Q"]
    assert with_artifacts(code) == [*code[:5], "/Artifact BMC", *code[5:], "EMC"]
