"""Lines of any length on any paper: whatever does not fit a page goes on on the next, or is told shortly."""

from dataclasses import replace
from functools import cache
from io import BytesIO

import pytest
from pypdf import PdfReader

from certgen import resources
from certgen.assessment.assess import assess
from certgen.assessment.assessment import Assessment
from certgen.document.content import Column, Facts, Table
from certgen.document.doubt_words import doubt_notice
from certgen.network.solution import solve_survey
from certgen.pdf.flowables import _BLOCKS
from certgen.pdf.grids import grid
from certgen.pdf.pdf_document import certificate_pdf
from certgen.pdf.reports import comparison_pdf, study_pdf
from certgen.pdf.work_sheet_pages import work_sheet_pdf
from certgen.reference_study.study import study
from certgen.survey.survey import Limit, Paper, Survey
from certgen.visits.comparison import compare
from certgen.wording.wording import Wording
from tests.certificate.samples import WORDING
from tests.simulate.records import levelled, read, roll, setup, survey, tilt

LIMITS = ("0.03 mm/m", "0.05 mm/m")


def whole_line(count: int, letters: int = 4) -> Survey:
    """Return rolls that one setup read, half of them fixed, with two tolerances and many signs lost."""
    names = [f"R{number}".ljust(letters, "x") for number in range(1, count + 1)]
    rolls = tuple(
        roll(
            name,
            1000.0 * place,
            parallel_limit=Limit(0.03 + 0.02 * (place % 2), LIMITS[place % 2]),
            level_limit=Limit(0.03 + 0.02 * (place % 2), LIMITS[place % 2]),
            adjustable="drive" if place % 2 else "none",
        )
        for place, name in enumerate(names)
    )
    readings = tuple(read(name, 0.0, 0.4 * (place % 5)) for place, name in enumerate(names))
    slopes = (
        tilt(name, -sign * lean if turned and place % 3 == 1 else lean, turned=turned)
        for place, name in enumerate(names)
        for lean, sign in ((0.02 * (place % 7), 1.0),)
        for turned in (False, True)
    )
    return survey(rolls, (setup("A", {}, *readings),), level=levelled(*slopes))


@cache
def found(count: int, letters: int = 4) -> Assessment:
    """Return such a line, solved and assessed."""
    return assess(solve_survey(whole_line(count, letters)))


def pages_of(pdf: bytes) -> list[str]:
    """Return the text of each page."""
    return [page.extract_text() for page in PdfReader(BytesIO(pdf)).pages]


def words(language: str) -> Wording:
    """Return the words of a language."""
    return Wording(resources.templates(), language)


@pytest.mark.parametrize(
    ("count", "letters", "paper", "language"),
    [(1, 40, "A5", "fr"), (2, 40, "A5", "es"), (120, 4, "A5", "de"), (130, 40, "A5", "en")],
)
def test_certificate_of_any_length_names_every_roll(
    count: int, letters: int, paper: Paper, language: str
) -> None:
    """One setup read all rolls, every other has another tolerance: both lists go on from page to page."""
    made = certificate_pdf(found(count, letters), words(language), paper)
    text = "".join("".join(pages_of(made)).split())
    assert all(text.count(one.id) >= 6 for one in found(count, letters).rolls)


@pytest.mark.slow
@pytest.mark.parametrize(("count", "paper"), [(300, "A3"), (300, "letter"), (1000, "A4"), (1000, "A5")])
def test_certificate_of_a_very_long_line_is_made(count: int, paper: Paper) -> None:
    """A thousand rolls, one setup, every third reversed reading with its sign lost."""
    assert len(pages_of(certificate_pdf(found(count), WORDING, paper))) > count / 10


def test_reports_of_a_long_line_fit_small_paper() -> None:
    """Study, comparison and work sheet of 120 rolls with long names on A5."""
    solution = found(120, 40).solution
    head = replace(solution.survey.certificate, number="T-2")
    later = solve_survey(replace(solution.survey, certificate=head, sha256="1" * 64))
    assert len(pages_of(study_pdf(study(solution, "as_found"), words("de"), "A5"))) > 2
    assert len(pages_of(comparison_pdf(compare(solution, later), words("fr"), "A5"))) > 4
    assert len(pages_of(work_sheet_pdf(found(120, 40), words("es"), "A5"))) > 10


def test_what_a_work_sheet_leaves_alone_is_not_set_smaller() -> None:
    """Sixty fixed rolls with long names go on over pages, each with the safety notes above."""
    sheets = PdfReader(BytesIO(work_sheet_pdf(found(120, 40), WORDING, "A5"))).pages
    left_alone = [page for page in sheets if "R119x" in page.extract_text()][-1]
    sizes: list[float] = []
    left_alone.extract_text(
        visitor_text=lambda text, cm, tm, _font, size: (
            sizes.append(size * tm[3] * cm[3]) if text.strip() else None
        )
    )
    assert min(sizes) > 6.5
    assert WORDING.word("sheet_safety") in left_alone.extract_text()


def test_box_of_page_one_names_some_contradictions_and_counts_the_rest() -> None:
    """Of twelve named by the proof, eight are told on page one, with how many more and where they stand."""
    notice = doubt_notice(found(120), WORDING)
    assert notice is not None
    told = [text for text in notice.texts if "does not fit" in text or "do not fit" in text]
    assert len(told) == 9
    assert told[-1].startswith("Level: 4 more")
    assert 'more readings do not fit. They are listed under "Proof of the survey".' in told[-1]


def test_long_row_and_long_fact_go_on_in_rows_of_their_own() -> None:
    """A row is set bold throughout, and has a rule below its last part only."""
    ids = [f"R{number}" for number in range(1000)]
    whole = grid(Table("", (Column("roll", "left"), Column("u")), (("\n".join(ids), "1"),)), 300.0)
    assert len(whole._cellvalues) == 1 + 25
    assert [row[0].split("\n") for row in whole._cellvalues[1:]] == [
        ids[i : i + 40] for i in range(0, 1000, 40)
    ]
    facts = next(iter(_BLOCKS[Facts](Facts((("tolerance", ", ".join(ids)), ("line", "short"))), 300.0)))
    assert len(facts._cellvalues) == 11
