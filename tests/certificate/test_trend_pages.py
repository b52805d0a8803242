"""A trend on paper: every row of its tables, a panel for every roll, one look with the certificate."""

from dataclasses import replace
from functools import cache
from io import BytesIO

from pypdf import PdfReader

from certgen.document.trend_section import drift_table, slopes_table, trend_conclusion
from certgen.figures.trend_plot import panels, trend_plots
from certgen.pdf.reports import compose_trend, trend_pdf
from certgen.visits.trend import Trend, trend
from certgen.wording.values import numbers_for
from tests.certificate.samples import WORDING, sample

WINDER = ("winder_inch", "winder_inch_next_year", "winder_inch_third_year")


@cache
def followed() -> Trend:
    """Return the trend of the three visits to the winder."""
    return trend([sample(name).solution for name in WINDER])


@cache
def printed() -> str:
    """Return the text of the pages with white space folded."""
    pages = PdfReader(BytesIO(trend_pdf(followed(), WORDING))).pages
    return f" {' '.join(' '.join(page.extract_text() for page in pages).split())} "


def test_every_row_of_the_tables_is_on_the_pages() -> None:
    """Drift and slopes, level and parallel."""
    numbers, text = numbers_for(followed().surveys[-1]), printed()
    for aspect in ("level", "parallel"):
        for made in (drift_table, slopes_table):
            table = made(followed(), aspect, numbers, WORDING)
            assert table is not None
            rows = [" ".join(" ".join(row).split()) for row in table.rows]
            assert [row for row in rows if f" {row} " not in text] == []


def test_drift_table_says_what_the_fit_found() -> None:
    """In thou per foot and year: twelve times mm/m."""
    table = drift_table(followed(), "level", numbers_for(followed().surveys[-1]), WORDING)
    assert table is not None
    drift = next(roll.level.drift for roll in followed().rolls if roll.name == "R8")
    assert drift is not None
    row = next(row for row in table.rows if row[0] == "R8")
    assert row[1] == f"{12.0 * drift.rate:+.3f}".replace("-", "−")
    assert row[2] == f"{12.0 * drift.k * drift.u_rate:.3f}"
    assert row[3:5] == ("< 0.001", "drift")


def test_limit_keeps_its_digits_beside_a_large_uncertainty() -> None:
    """U of some thou/ft: the limit of 0.5 thou/ft is no 0 and no 1."""
    found = followed()
    (roll,) = (roll for roll in found.rolls if roll.name == "R8")
    points = tuple(replace(point, U_mm_per_m=20.0) for point in roll.level.points)
    vague = replace(found, rolls=(replace(roll, level=replace(roll.level, points=points)),))
    table = drift_table(vague, "level", numbers_for(found.surveys[-1]), WORDING)
    assert table is not None
    assert table.rows[0][6] == "0.50"


def test_rows_with_a_drift_are_bold() -> None:
    """And no others."""
    for aspect, name in (("level", "R8"), ("parallel", "R2")):
        table = drift_table(followed(), aspect, numbers_for(followed().surveys[-1]), WORDING)
        assert table is not None
        assert [table.rows[index][0] for index in table.emphasis] == [name]


def test_slopes_stand_as_found_over_as_left() -> None:
    """Two lines where the roll was read again, one where not, a dash where it was not there."""
    table = slopes_table(followed(), "level", numbers_for(followed().surveys[-1]), WORDING)
    assert table is not None
    rows = {row[0]: row[1:] for row in table.rows}
    assert [cell.count("\n") for cell in rows["R8"]] == [1, 1, 1]
    assert [cell.count("\n") for cell in rows["R1"]] == [0, 0, 0]
    assert rows["R3"][1:] == ("–", "–")


def test_rolls_that_drift_have_a_panel_each_and_the_flat_ones_share_one() -> None:
    """Three beside each other, what drifts first; every roll that was read is in one of them."""
    assert len(trend_plots(followed(), "level", WORDING, 500.0)) == 1
    assert len(trend_plots(followed(), "parallel", WORDING, 500.0)) == 2
    for aspect, first in (("level", "R8"), ("parallel", "R2")):
        shown = panels(followed(), aspect)  # type: ignore[arg-type]  # literals
        assert [roll.name for roll in shown[0]] == [first]
        assert len(shown[-1]) > 5
        names = sorted(roll.name for some in shown for roll in some)
        read = [roll.name for roll in followed().rolls if roll.aspect(aspect).points]  # type: ignore[arg-type]
        assert names == sorted(read)
    text = printed().split("Every roll over time")[1].split("Slopes at every visit")[0]
    assert "R1 – R7, R9 – R12, level" in text


def test_table_of_drift_names_the_rolls_that_drift_first() -> None:
    """Then those that moved otherwise, then the others in the order of the line."""
    table = drift_table(followed(), "parallel", numbers_for(followed().surveys[-1]), WORDING)
    assert table is not None
    assert [row[0] for row in table.rows[:4]] == ["R2", "R7", "R1", "R4"]


def test_pages_have_their_own_safety_and_validity() -> None:
    """And the frame of the certificate, with the digests of all surveys."""
    text = printed()
    assert "isolate, lock out and tag out every drive" in text
    assert "it is not a certificate and does not replace one" in text
    assert "Fennel Creek Alignment Trend over several surveys" in text
    assert "End of trend" in text
    assert [survey.sha256 for survey in followed().surveys if survey.sha256 not in text] == []


def test_trend_is_the_same_bytes_again() -> None:
    """Nothing of the clock or of chance gets in."""
    assert trend_pdf(followed(), WORDING) == trend_pdf(followed(), WORDING)


def test_trend_without_drift_says_so() -> None:
    """Between the second and the third visit alone, and with a drift of nothing."""
    still = tuple(
        replace(roll, level=replace(roll.level, drift=None), parallel=replace(roll.parallel, drift=None))
        for roll in followed().rolls
    )
    found = replace(followed(), rolls=still)
    texts = trend_conclusion(found, numbers_for(found.surveys[-1]), WORDING)
    assert "No drift can be shown." in texts
    assert compose_trend(found, WORDING).end == "End of trend"


def test_visits_of_one_day_have_an_axis() -> None:
    """It shows a year, so that there is one to name under every panel; nothing is warned of."""
    one = sample("tutorial").solution
    certificate = replace(one.survey.certificate, number="TB-2026-099")
    other = replace(one, survey=replace(one.survey, certificate=certificate, sha256="another"))
    pages = PdfReader(BytesIO(trend_pdf(trend([one, other]), WORDING))).pages
    assert [word for page in pages for word in page.extract_text().split()].count("2027") == 5
