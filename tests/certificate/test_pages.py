"""The pages: fonts, text of a survey that looks like markup, tables over several pages, numbers aligned."""

from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from certgen import resources
from certgen.document.content import Column, Table
from certgen.figures.look import BODY, load_fonts, width_of
from certgen.pdf.grids import Type, broken, decimal_column, fraction_width, grid
from certgen.pdf.pdf_document import certificate_pdf
from certgen.resources import LANGUAGES
from certgen.survey.survey import Paper
from certgen.wording.wording import Wording
from tests.certificate.reports import made
from tests.certificate.samples import WORDING, changed, sample

KIND = Type(BODY, 7.2)


def text_of(pdf: bytes) -> str:
    """Return the text of all pages, white space folded."""
    return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages).split())


def test_every_font_is_embedded() -> None:
    """No page relies on a font of the reader's machine."""
    reader = PdfReader(BytesIO(certificate_pdf(sample("tutorial"), WORDING, "A4")))
    fonts = [font.get_object() for page in reader.pages for font in page["/Resources"]["/Font"].values()]
    assert fonts
    assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts)


def test_text_of_a_survey_is_never_markup(tmp_path: Path) -> None:
    """Ampersands, angle brackets and tags are printed as they stand."""
    name = "A & B <b>Bold</b> <font color=red>"
    line = changed(tmp_path, "tutorial", (sample("tutorial").survey.customer.name, f'"{name}"'))
    assert name in text_of(certificate_pdf(line, WORDING, "A4"))


def test_long_number_keeps_clear_of_the_page_number(tmp_path: Path) -> None:
    """In the foot it is cut, at the head of the first page it stands whole."""
    number = "TB-2026-014-" + "-".join(["of-the-northern-office"] * 7)
    line = changed(tmp_path, "tutorial", ("TB-2026-014", number))
    reader = PdfReader(BytesIO(certificate_pdf(line, WORDING, "A4")))
    assert number in "".join(reader.pages[0].extract_text().split())
    foot = next(text for text in reader.pages[1].extract_text().splitlines() if "…" in text)
    assert foot.startswith("Certificate TB-2026-014")
    assert len(foot) < len(number)


@pytest.mark.parametrize("language", LANGUAGES)
def test_end_mark_stands_on_no_page_by_itself(language: str) -> None:
    """On the small paper, where pages are full: the files of a report are named above its end."""
    wording = Wording(resources.templates(), language)
    last = PdfReader(BytesIO(made("comparison", wording, "A5"))).pages[-1].extract_text()
    assert wording.word("compare_end") in last
    assert "results.json" in last


def test_greek_cyrillic_and_accents_are_printed(tmp_path: Path) -> None:
    """The embedded fonts hold them."""
    name = "Ελληνική Фабрика Żółw Ångström"
    line = changed(tmp_path, "tutorial", (sample("tutorial").survey.customer.name, name))
    assert name in text_of(certificate_pdf(line, WORDING, "A4"))


@pytest.mark.parametrize("paper", ["A5", "A4", "A3", "letter"])
def test_every_paper_holds_the_whole_certificate(paper: Paper) -> None:
    """From the verdict to the end mark."""
    text = text_of(certificate_pdf(sample("winder_inch"), WORDING, paper))
    assert "The line as found Verdict: fail" in text
    assert "End of certificate" in text


def test_document_says_what_it_is() -> None:
    """Title, author and language for readers and archives."""
    reader = PdfReader(BytesIO(certificate_pdf(sample("tutorial"), WORDING, "A4")))
    survey = sample("tutorial").survey
    assert reader.metadata is not None
    assert survey.certificate.number in str(reader.metadata.title)
    assert reader.metadata.author == survey.contractor.name
    assert reader.root_object["/Lang"] == "en"


def test_decimal_signs_of_a_column_stand_under_each_other() -> None:
    """What stands left of the sign is measured apart from what stands right of it."""
    load_fonts()
    column = decimal_column(["+1.5", "−12.25", "3", "–"], KIND)
    assert column.fractions == (width_of(".25", BODY, 7.2),)
    assert column.widths[0] == pytest.approx(width_of("−12", BODY, 7.2) + width_of(".25", BODY, 7.2))
    assert fraction_width("3", KIND) == 0.0


def test_text_is_broken_to_its_column() -> None:
    """Between words where it can be, within a word where it must be."""
    load_fonts()
    lines = broken("Unwind guide roll Donaudampfschifffahrtsgesellschaft", 40.0, KIND).split("\n")
    assert all(width_of(line, BODY, 7.2) <= 40.0 for line in lines)
    assert "".join(lines).replace(" ", "") == "UnwindguiderollDonaudampfschifffahrtsgesellschaft"


def test_head_of_a_long_table_repeats() -> None:
    """Both rows of a grouped head, on every part of the table."""
    load_fonts()
    columns = (Column("Roll", "left"), Column("Slope", group="As found"), Column("U", group="As found"))
    rows = tuple((f"R{i}", "+0.1", "0.01") for i in range(60))
    flowable = grid(Table("", columns, rows), 400.0)
    flowable.wrap(400.0, 200.0)
    first, second = flowable.split(400.0, 200.0)
    assert first._cellvalues[:2] == second._cellvalues[:2]
    assert second._cellvalues[1][1] == "Slope"
