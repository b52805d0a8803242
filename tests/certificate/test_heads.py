"""Heads of tables break between words or where a word may be parted, in every language and on every paper."""

import pytest

from certgen import resources
from certgen.document.compose import compose
from certgen.document.content import Table
from certgen.document.moves_section import moves_section
from certgen.figures.look import STRONG, load_fonts, width_of
from certgen.pdf.grids import Type, broken, head_widths
from certgen.pdf.pdf_document import type_area
from certgen.resources import LANGUAGES
from certgen.survey.survey import Paper
from certgen.wording.values import numbers_for
from certgen.wording.wording import SOFT_HYPHEN, Wording
from tests.certificate.reports import KINDS, composed
from tests.certificate.samples import sample
from tests.certificate.test_worksheet import found_only

NAMES = ("tutorial", "winder_inch", "coater_mm", "dryer_mixed", "unwind_wide")


def tables(name: str, language: str) -> list[Table]:
    """Return the tables of a sample's certificate."""
    content = compose(sample(name), Wording(resources.templates(), language))
    return [block for part in content.sections for block in part.blocks if isinstance(block, Table)]


def mended(lines: str) -> str:
    """Return a broken text in one line again, parted words put together."""
    return lines.replace("-\n", "").replace("\n", " ").replace("-", "")


@pytest.mark.parametrize("paper", ["A5", "A4", "letter"])
@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", NAMES)
def test_no_head_is_cut_within_a_word(name: str, language: str, paper: Paper) -> None:
    """Where a long word has no place to part, one is missing in the words of the language."""
    assert cut_heads(tables(name, language), paper) == set()


@pytest.mark.parametrize("paper", ["A5", "A4", "letter"])
@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", ["winder_inch", "dryer_mixed"])
def test_no_head_of_the_moves_is_cut_within_a_word(name: str, language: str, paper: Paper) -> None:
    """As found, when there is most to move: shims, both bearings, several setups."""
    wording = Wording(resources.templates(), language)
    section = moves_section(found_only(name), numbers_for(sample(name).survey, wording.digits), wording)
    found = [block for block in section.blocks if isinstance(block, Table)]
    assert len(found) == 2
    assert cut_heads(found, paper) == set()


@pytest.mark.parametrize("paper", ["A5", "A4", "letter"])
@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", KINDS)
def test_no_head_of_a_report_is_cut_within_a_word(kind: str, language: str, paper: Paper) -> None:
    """As on the certificate; the work sheet has no such tables."""
    found = report_tables(kind, language)
    assert bool(found) == (kind != "work sheet")
    assert cut_heads(found, paper) == set()


def report_tables(kind: str, language: str) -> list[Table]:
    """Return the tables of a report."""
    content = composed(kind, Wording(resources.templates(), language))
    sections = () if content is None else content.sections
    return [block for part in sections for block in part.blocks if isinstance(block, Table)]


def cut_heads(found: list[Table], paper: Paper) -> set[str]:
    """Return the heads that are cut within a word."""
    load_fonts()
    cut = set()
    for table in found:
        for title, (width, size) in zip(
            [column.title for column in table.columns], head_widths(table, type_area(paper)[0]), strict=True
        ):
            lines = broken(title, width, Type(STRONG, size))
            assert all(width_of(line, STRONG, size) <= width for line in lines.split("\n"))
            if mended(lines) != title.replace(SOFT_HYPHEN, "").replace("-", ""):
                cut.add(title)
    return cut
