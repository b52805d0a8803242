"""The page for a browser: everything that the paper says, as elements that mean it, from nowhere else."""

import re
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import pytest

from certgen import resources
from certgen.assessment.assessment import Assessment
from certgen.document.compose import compose
from certgen.document.content import (
    Content,
    Facts,
    Paragraphs,
    Parties,
    Signatures,
    Statements,
    Table,
    Verdicts,
)
from certgen.resources import LANGUAGES
from certgen.web.html_page import certificate_html
from certgen.wording.wording import HouseLook, Wording
from tests.certificate.samples import WORDING, changed, sample

NAMES = ("tutorial", "winder_inch", "coater_mm", "dryer_mixed", "unwind_wide")
_EMPTY = {"meta", "br", "img", "path", "polygon", "polyline", "circle", "rect", "link", "input"}


class Page(HTMLParser):
    """The elements of a page with their attributes, and its text; every element must be closed in order."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.texts: list[str] = []
        self._open: list[str] = []
        self.feed(text)
        assert self._open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note an element."""
        self.elements.append((tag, {key: value or "" for key, value in attrs}))
        if tag not in _EMPTY:
            self._open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        """Close the last one opened."""
        if tag not in _EMPTY:
            assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        """Note text that a reader sees."""
        if self._open and self._open[-1] != "style":
            self.texts.append(data)

    def of(self, tag: str) -> list[dict[str, str]]:
        """Return the attributes of all elements of a kind."""
        return [attributes for name, attributes in self.elements if name == tag]


def html(assessment: Assessment, wording: Wording = WORDING) -> str:
    """Return the page of an assessed survey."""
    return certificate_html(assessment, compose(assessment, wording), wording)


@cache
def page(name: str, language: str) -> Page:
    """Return the page of a sample."""
    return Page(html(sample(name), Wording(resources.templates(), language)))


def said(content: Content) -> list[str]:
    """Return every text that the records hold."""
    found = [content.title, content.identification, content.end]
    for section in content.sections:
        found.append(section.head)
        for block in section.blocks:
            if isinstance(block, Table):
                found += [
                    block.caption,
                    block.note,
                    *(c for row in block.rows for c in row if isinstance(c, str)),
                ]
                found += [text for column in block.columns for text in (column.title, column.group)]
            elif isinstance(block, Paragraphs):
                found += [text.removeprefix("- ") for text in block.texts]
            elif isinstance(block, Facts | Signatures):
                pairs = block.pairs if isinstance(block, Facts) else block.places
                found += [text for pair in pairs for text in pair]
            elif isinstance(block, Verdicts):
                found += [text for box in block.boxes for text in (box.title, box.sentence, *box.details)]
            elif isinstance(block, Parties):
                found += [text for label, lines in block.columns for text in (label, *lines)]
            elif isinstance(block, Statements):
                found += [text for pair in block.pairs for text in pair]
    return [line for text in found for line in text.split("\n") if line]


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", NAMES)
def test_page_says_everything_that_the_paper_says(name: str, language: str) -> None:
    """Every verdict, number and sentence of the records, each as often as it is there at least once."""
    content = compose(sample(name), Wording(resources.templates(), language))
    shown = set(page(name, language).texts)
    unescaped = {re.sub(r"&#39;|&#x27;", "'", text).replace("&amp;", "&") for text in said(content)}
    assert {text for text in unescaped if text not in shown} == set()


@pytest.mark.parametrize("name", NAMES)
def test_page_draws_every_roll(name: str) -> None:
    """The drawings carry the ids of all rolls as text."""
    shown = page(name, "en").texts
    assert all(shown.count(roll.id) >= 4 for roll in sample(name).rolls)
    assert len(page(name, "en").of("svg")) >= 4


@pytest.mark.parametrize("language", LANGUAGES)
def test_page_states_its_language_and_its_places(language: str) -> None:
    """Language, title, one main heading, one main part, a link that skips to it."""
    found = page("dryer_mixed", language)
    assert found.of("html") == [{"lang": language}]
    assert [len(found.of(tag)) for tag in ("title", "h1", "main", "nav", "header", "footer")] == [1] * 6
    assert found.of("a")[0]["href"] == f"#{found.of('main')[0]['id']}"
    ids = [attributes["id"] for _, attributes in found.elements if "id" in attributes]
    assert len(ids) == len(set(ids))
    assert {link["href"].removeprefix("#") for link in found.of("a")} <= set(ids)


def test_heads_of_tables_say_what_they_are_heads_of() -> None:
    """Scope of every head, a caption where the records have one."""
    found = page("dryer_mixed", "en")
    assert {head.get("scope") for head in found.of("th")} == {"col", "colgroup", "row", "rowgroup"}
    tables = [
        block
        for part in compose(sample("dryer_mixed"), WORDING).sections
        for block in part.blocks
        if isinstance(block, Table)
    ]
    assert len(found.of("table")) == len(tables)
    assert len(found.of("caption")) == sum(bool(table.caption) for table in tables)


@pytest.mark.parametrize("name", NAMES)
def test_page_needs_nothing_from_elsewhere(name: str) -> None:
    """No script, no address, no picture that is not inside; the browser is told to load nothing."""
    text = html(sample(name))
    assert "<script" not in text
    assert re.findall(r"(?:href|src)=\"(?!#|data:)[^\"]*\"", text) == []
    assert re.findall(r"https?://(?!www\.w3\.org/2000/svg)", text) == []
    assert "default-src 'none'" in text


def test_text_of_a_survey_is_never_markup_on_the_page(tmp_path: Path) -> None:
    """Neither in text nor in an attribute."""
    name = "A & B <script>alert(1)</script> onload=1 'x'"
    line = changed(tmp_path, "tutorial", (sample("tutorial").survey.customer.name, f'"{name}"'))
    text = html(line)
    assert "<script" not in text
    assert name in Page(text).texts


def test_page_is_the_same_again() -> None:
    """Nothing of the moment is in it."""
    assert html(sample("winder_inch")) == html(sample("winder_inch"))


def test_page_wears_the_colours_of_the_house() -> None:
    """In its style and in its drawings; those of the project are gone."""
    look = HouseLook(("First line", "Second <line>"), None, "#8a1c7c", "#0b5d1e")
    text = html(sample("tutorial"), Wording(resources.templates(), "en", look=look))
    assert "#1d4e89" not in text.lower()
    assert "#c75b12" not in text.lower()
    assert text.count("#0b5d1e") > 10
    assert "Second &lt;line&gt;" in text


def test_drawings_are_printed_true_to_their_scale() -> None:
    """A drawing of 500 units is 500 points wide on paper, and the page says that a screen is no paper."""
    text = html(sample("tutorial"))
    boxes = {box.split()[2] for box in re.findall(r'viewBox="([^"]*)"', text)}
    assert boxes == {"500"}
    assert "svg{width:500pt" in text
    assert WORDING.word("html_scale") in text
