"""A comparison on paper: every number of the results in its row, one look with the certificate, own notes."""

import json
from functools import cache
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from certgen.document.comparison_section import comparison_conclusion, comparison_table, consistent, remarks
from certgen.pdf.reports import comparison_pdf, compose_comparison
from certgen.results.report_results import comparison_results
from certgen.visits.comparison import Comparison, Shift, compare, within
from certgen.wording.rounding import METRIC
from certgen.wording.values import numbers_for
from tests.certificate.samples import WORDING, sample, vague

WINDER = ("winder_inch", "winder_inch_next_year")
ONE_VISIT = ("coater_mm", "dryer_mixed", "tutorial", "unwind_wide", "winder_inch")


@cache
def compared(*names: str) -> Comparison:
    """Return the comparison of one sample with itself, or of two."""
    visits = [sample(name).solution for name in names]
    return within(visits[0]) if len(visits) == 1 else compare(*visits)


@cache
def printed(*names: str) -> str:
    """Return the text of the pages with white space folded."""
    pages = PdfReader(BytesIO(comparison_pdf(compared(*names), WORDING))).pages
    return f" {' '.join(' '.join(page.extract_text() for page in pages).split())} "


@pytest.mark.parametrize("names", [WINDER, *((name,) for name in ONE_VISIT)])
def test_every_row_of_the_tables_is_on_the_pages(names: tuple[str, ...]) -> None:
    """The cells follow each other; a cell of two lines holds both unit systems."""
    found, text = compared(*names), printed(*names)
    numbers = numbers_for(found.after.survey)
    for aspect in ("level", "parallel"):
        table = comparison_table(found, aspect, numbers, WORDING)
        assert table is not None
        rows = [" ".join(" ".join(row).split()) for row in table.rows]
        assert [row for row in rows if f" {row} " not in text] == []


def test_table_says_what_the_results_say() -> None:
    """The rows against the JSON, number by number."""
    found = compared(*WINDER)
    rolls: dict[str, Any] = {
        roll["id"]: roll for roll in json.loads(json.dumps(comparison_results(found)))["rolls"]
    }
    table = comparison_table(found, "parallel", numbers_for(found.after.survey), WORDING)
    assert table is not None
    row = next(row for row in table.rows if row[0] == "R7")
    change = rolls["R7"]["parallel"]["change"]
    assert row[3] == f"+{12.0 * change['slope_mm_per_m']:.2f}"
    assert row[4] == f"{12.0 * change['U_mm_per_m']:.2f}"
    assert row[7] == f"+{change['drive_bearing_alone_mm'] / 0.0254:.1f}"


def test_limit_keeps_its_digits_beside_a_large_uncertainty() -> None:
    """U of some mm/m: the limit of 0.05 mm/m is no 0.0."""
    found = within(vague().solution)
    for aspect in ("level", "parallel"):
        table = comparison_table(found, aspect, numbers_for(found.after.survey), WORDING)
        assert table is not None
        assert {row[5] for row in table.rows} <= {"0.050", "–"}
        assert "0.050" in {row[5] for row in table.rows}
        assert max(float(row[4]) for row in table.rows if row[4] != "–") > 1.0


def test_roll_with_one_reading_is_printed_no_finer_than_the_others() -> None:
    """R1 of the tutorial was levelled as found only, more exactly than any change can be told."""
    found = compared("tutorial")
    table = comparison_table(found, "level", numbers_for(found.after.survey), WORDING)
    assert table is not None
    assert [row[1] for row in table.rows] == ["+0.015", "−0.020", "−0.090"]


def test_rows_of_what_has_moved_are_bold() -> None:
    """And no others."""
    found = compared(*WINDER)
    table = comparison_table(found, "parallel", numbers_for(found.after.survey), WORDING)
    assert table is not None
    assert [table.rows[index][0] for index in table.emphasis] == ["R7"]


def test_printed_numbers_never_contradict_the_outcome() -> None:
    """A change a little over U gets as many digits as show it."""
    close = Shift(0.02004, 0.01, 0.02, 2.0, float("inf"), 0.04, 0.05, 2000.0)
    assert close.outcome == "moved"
    assert consistent(close, METRIC.slope) == 5


def test_pages_have_their_own_safety_and_validity() -> None:
    """What a roll that moved by itself may mean, and that this is no certificate."""
    text = printed(*WINDER)
    assert "isolate, lock out and tag out every drive" in text
    assert "it is not a certificate and does not replace one" in text
    assert compared(*WINDER).before.survey.sha256 in text


def test_pages_have_the_frame_of_the_certificate() -> None:
    """Contractor, what is compared, page n of N, end mark."""
    text = printed(*WINDER)
    assert "Fennel Creek Alignment Comparison of surveys" in text
    assert "against certificate FC-2027-044 as found page 1 of 3" in text
    assert "End of comparison" in text


def test_every_roll_is_named_in_the_plot() -> None:
    """Also those of one survey only."""
    text = printed(*WINDER).split("Before and after")[1].split("How it is judged")[0]
    assert [roll.name for roll in compared(*WINDER).rolls if f" {roll.name} " not in text] == []


def test_comparison_is_the_same_bytes_again() -> None:
    """Nothing of the clock or of chance gets in."""
    found = compared(*WINDER)
    assert comparison_pdf(found, WORDING) == comparison_pdf(found, WORDING)


def test_comparison_says_how_visits_share_errors() -> None:
    """Two visits are independent; one visit shares its network."""
    two = [str(text) for text in WORDING.paragraphs("compare", one_visit=False, coverage="k = 2")]
    one = [str(text) for text in WORDING.paragraphs("compare", one_visit=True, coverage="k = 2")]
    assert any("the variances of both slopes add" in text for text in two)
    assert any("cancels in the change" in text for text in one)


def test_conclusion_of_nothing_in_common_says_so() -> None:
    """Two lines that share no roll but the reference's id."""
    found = compare(*(sample(name).solution for name in ("tutorial", "winder_inch")), reference="R1")
    texts = (
        *comparison_conclusion(found, WORDING),
        *remarks(found, numbers_for(found.after.survey), WORDING),
    )
    assert any("not of the same line" in text for text in texts)
    assert compose_comparison(found, WORDING).end == "End of comparison"
