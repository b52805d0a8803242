"""What the web bears is printed as it stands in the results: the web, and a row for each roll with a span."""

import re
from decimal import ROUND_HALF_EVEN, Decimal
from pathlib import Path
from typing import Any

import pytest

from certgen import resources
from certgen.document.web_margin import web_sections, web_table
from certgen.wording.values import numbers_for
from tests.certificate.samples import WORDING, changed, sample
from tests.certificate.test_printed_results import FACTORS, SAMPLES, issued


def digits(value: float) -> str:
    """Write a number to three significant digits, without an exponent."""
    exponent = Decimal(f"{value:.2e}").adjusted()
    return str(Decimal(f"{value:.12g}").quantize(Decimal(1).scaleb(min(0, exponent - 2)), ROUND_HALF_EVEN))


def each_unit(units: str, value: float, small: int = 0) -> str:
    """A cell of a slope, or of a small length: a line for each unit system."""
    return " ".join(
        digits(value * FACTORS[u][small]) for u in (("mm", "in") if units == "both" else (units,))
    )


def row(units: str, roll: dict[str, Any]) -> str:
    """Return the row of a roll as a pattern; the span itself is checked by its ratio to the width."""
    web, limit = roll["parallel"]["web"], roll["parallel"]["as_left"]["limit_mm_per_m"]
    slopes = (web["critical_mm_per_m"], web["critical_exact_mm_per_m"], limit)
    ratios = (web["limit_ratio"], web["adjacent_limit_ratio"])
    cells = [
        digits(web["span_over_width"]),
        *(each_unit(units, slope) for slope in slopes),
        *("–" if ratio is None else f"{digits(100.0 * ratio)} %" for ratio in ratios),
        each_unit(units, web["shift_at_limit_mm"], 1),
    ]
    return f" {roll['id']} [\\d. ]+ " + " ".join(map(re.escape, cells)) + " "


@pytest.mark.parametrize("name", SAMPLES)
def test_every_margin_of_the_web_is_on_the_pages(name: str) -> None:
    """Span over width, both critical slopes, limit, both ratios and the shift follow each other."""
    found, units, text = issued(name)
    for roll in found["rolls"]:
        if roll["parallel"]["web"] is not None:
            assert re.search(row(units, roll), text), row(units, roll)


@pytest.mark.parametrize("name", SAMPLES)
def test_section_on_the_web_stands_only_where_there_is_one(name: str) -> None:
    """Heading and strain, or neither."""
    found, _, text = issued(name)
    assert ("Tolerance and web" in text) == (found["web"] is not None)
    if found["web"] is not None:
        assert f"Strain {digits(100.0 * found['web']['strain'])} %" in text


def test_a_sample_states_its_web() -> None:
    """Else the two tests above would say nothing."""
    assert any(issued(name)[0]["web"] is not None for name in SAMPLES)


def test_web_is_printed_in_the_units_of_the_page(tmp_path: Path) -> None:
    """250 N/m are 1.43 lbf/in, 4.2 GPa 609 ksi, 50 um 2 thou."""
    both = changed(tmp_path, "coater_mm", ("units: mm}", "units: both}"))
    (section,) = web_sections(both, numbers_for(both.survey), WORDING)
    facts = dict(section.blocks[0].pairs)  # type: ignore[union-attr]
    assert facts["Tension"] == "250 N/m / 1.43 lbf/in"
    assert facts["Modulus"] == "4200 MPa / 609 ksi"
    assert facts["Thickness"] == "0.05 mm / 1.9685 thou"
    table = web_table(both, numbers_for(both.survey), WORDING)
    assert table is not None
    assert table.rows[0][3] == "0.635\n7.62"


def test_tolerance_from_the_web_is_stated_and_judged(tmp_path: Path) -> None:
    """The limit of each roll is the share of its critical slope, and the certificate says so."""
    line = changed(
        tmp_path,
        "coater_mm",
        ("parallel: {limit: 0.05 mm/m}", "parallel: {web_fraction: 10 %}"),
        (
            "  - {id: C1, name: Accumulator exit roll,",
            "  - {parallel: {limit: 0.05 mm/m}, id: C1, name: Accumulator exit roll,",
        ),
    )
    rows = web_table(line, numbers_for(line.survey), WORDING).rows  # type: ignore[union-attr]
    assert {cells[6] for cells in rows} == {"10.0 %", "6.77 %"}  # C4 keeps its own, tighter limit
    assert "web goes slack" in line.survey.rolls[1].parallel_limit.stated  # type: ignore[union-attr]
    assert sample("coater_mm").overall["as_left"] == "conditional pass"


def test_samples_folder_is_where_the_web_is_looked_for() -> None:
    """The coater's file holds the block."""
    assert "\nweb:\n" in (resources.sample_surveys() / "coater_mm.yaml").read_text("utf-8")
