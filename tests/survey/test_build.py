"""The checked tree becomes records in the engine's units and signs."""

import re
from decimal import Decimal
from math import sqrt

import pytest

from certgen.errors import SurveyRefused
from certgen.findings import Place
from certgen.survey import read_bytes
from certgen.survey.quantities import Every
from certgen.survey.survey import (
    Adjustment,
    BearingGrowth,
    HeightReading,
    Limit,
    RollReading,
    ShimStock,
    SlopeReading,
    Web,
)
from tests.survey.sound import SOUND, survey

UNCERTAINTY = "repeatability: {standard: 0.01}"
PARALLEL = "parallel: {limit: 0.1 mm, over: bearings}"
R2 = "{id: R2, name: idler, station: 1000, height: 1200, diameter: 150, face: 1900,"
GROWTH = "growth: {operator: {up: 0.1 mm}, drive: {up: 0.2 mm, downstream: -1 thou}}"
WEB = "web: {width: 1500, thickness: 0.02 mm, tension: 150 N/m, modulus: 3.5 GPa, spans: {R2: 1100}}"


def test_file_of_other_keys_is_refused_in_one_line() -> None:
    """Another YAML file is told from a survey full of faults; a survey whose first key is misspelt is one."""
    with pytest.raises(SurveyRefused) as refused:
        read_bytes("compose.yaml", b"version: 3\nservices: {a: 1}\n")
    (finding,) = refused.value.findings
    assert (finding.message, finding.got) == ("none of the keys here is one of a survey", "version, services")
    assert len(read_bytes("s.yaml", b"survye: 1\nrolls: []\n").findings) > 5


def test_reading_positive_downstream_stays() -> None:
    """The default signs are the engine's."""
    setup = survey().setups[0]
    assert setup.readings[1].drive_mm == -0.4
    assert survey().setups[1].monuments[0].value_mm == 1.2


def test_reading_positive_upstream_is_turned() -> None:
    """`roll: upstream` turns the readings of rolls and nothing else."""
    found = survey(("roll: downstream", "roll: upstream"))
    assert found.setups[0].readings[1].drive_mm == 0.4
    assert found.setups[1].monuments[0].value_mm == 1.2
    assert found.level is not None
    assert found.level.heights[0].drive_mm == 0.2
    assert str(found.setups[0].readings[0].operator_mm) == "0.0"


def test_monument_positive_operator_is_turned() -> None:
    """`monument: operator` turns the readings of monuments and nothing else."""
    found = survey(("monument: drive", "monument: operator"))
    assert found.setups[1].monuments[0].value_mm == -1.2
    assert found.setups[0].readings[1].drive_mm == -0.4


def test_level_reading_and_its_reverse_are_two() -> None:
    """A pair becomes two readings at one place; divisions become slopes; the place defaults to the middle."""
    level = survey().level
    assert level is not None
    assert level.slopes == (
        SlopeReading("R1", "as_found", 1000.0, 0.5 * 0.02, reversed=False, where="level.as_found.R1.reading"),
        SlopeReading("R1", "as_found", 1000.0, 0.3 * 0.02, reversed=True, where="level.as_found.R1.reversed"),
        SlopeReading("R2", "as_found", 900.0, 0.02, reversed=False, where="level.as_found.R2.reading"),
    )
    assert level.heights == (HeightReading("R3", "as_found", 0.1, 0.2, (200.0, 1800.0), "level.as_found.R3"),)


def test_readings_of_one_roll_may_be_a_list() -> None:
    """Several readings of one roll each keep their own path."""
    found = survey(
        ("R3: {operator: 0, drive: 0.2}", "R3: [{operator: 0, drive: 0.2}, {operator: 1, drive: 1.3}]")
    )
    assert [one.where for one in found.setups[1].readings] == [
        "setups[1].as_found.R3[0]",
        "setups[1].as_found.R3[1]",
    ]


def test_monument_may_be_read_again() -> None:
    """Several readings of one monument are a list."""
    found = survey(("{M1: 1.2, M2: 1.3}", "{M1: [1.2, 1.21], M2: 1.3}"))
    assert [one.value_mm for one in found.setups[1].monuments] == [1.2, 1.21, 1.3]


def test_roll_has_its_own_targets() -> None:
    """A roll's own targets stand before those of all rolls."""
    found = survey(("1200, diameter", "1200, targets: {operator: 100, drive: 1500}, diameter"))
    assert found.rolls[1].targets_mm == (100.0, 1500.0)
    assert found.rolls[0].targets_mm == (200.0, 1800.0)
    assert found.setups[0].readings[1] == RollReading(
        "R2", "as_found", 0.0, -0.4, (100.0, 1500.0), "setups[0].as_found.R2"
    )


@pytest.mark.parametrize(
    ("stated", "value", "distribution", "text"),
    [
        ("{standard: 3 um}", 0.003, "normal", "standard 3 um"),
        ("{half_width: 3, shape: rectangular}", 3 / sqrt(3), "rectangular", "half width 3 mm"),  # GUM 4.3.7
        ("{half_width: 3, shape: triangular}", 3 / sqrt(6), "triangular", "half width 3 mm"),  # GUM 4.3.9
        ("{half_width: 3, shape: u_shaped}", 3 / sqrt(2), "u_shaped", "half width 3 mm"),  # arcsine
        ("{expanded: 0.05 thou, k: 2}", 0.000635, "normal", "expanded 0.05 thou, k = 2"),  # GUM 4.3.3
    ],
)
def test_uncertainty_becomes_standard(stated: str, value: float, distribution: str, text: str) -> None:
    """Every way of stating an uncertainty gives its standard uncertainty."""
    found = survey((UNCERTAINTY, f"repeatability: {stated}")).uncertainty.repeatability_mm
    assert found is not None
    assert found.value == pytest.approx(value, rel=1e-15)
    assert (found.distribution, found.stated) == (distribution, text)


def test_shared_sources_are_read_in_the_units_of_the_engine() -> None:
    """Scale a fraction, run-out mm, other sources mm/m, each with what it says of itself."""
    found = survey(
        ("traceable_to: certificate 1}", "traceable_to: certificate 1, scale: {expanded: 0.2 %, k: 2}}"),
        (R2, f"{R2} run_out: {{half_width: 1 thou, shape: u_shaped, angles: 4}},"),
        (
            "  coverage: {k: 2}",
            "  other: [{name: air, applies: parallel, shared: setup, standard: 1 thou/m, source: log}]\n"
            "  coverage: {k: 2}",
        ),
    )
    scale, run_out, (other,) = found.instruments[0].scale, found.rolls[1].run_out, found.uncertainty.other
    assert scale is not None
    assert run_out is not None
    assert (scale.value, scale.stated) == (0.001, "expanded 0.2 %, k = 2")
    assert (run_out.u.value, run_out.u.distribution, run_out.angles) == (
        pytest.approx(0.0254 / sqrt(2)),
        "u_shaped",
        4,
    )
    assert (other.name, other.applies, other.shared, other.source) == ("air", "parallel", "setup", "log")
    assert other.u.value == pytest.approx(0.0254)
    assert found.uncertainty.level_plane_mm_per_m is not None
    assert found.uncertainty.level_plane_mm_per_m.value == 0.02


def test_growth_may_say_how_well_it_is_known() -> None:
    """Beside a bare amount, an amount with its uncertainty; of the other direction nothing is said."""
    grows = (
        "growth: {drive: {up: {value: 0.3 mm, half_width: 0.03 mm, shape: rectangular}, downstream: 0.1 mm}}"
    )
    drive = survey((R2, f"{R2} {grows},")).rolls[1].growth.drive
    assert (drive.up_mm, drive.downstream_mm, drive.downstream_u) == (0.3, 0.1, None)
    assert drive.up_u is not None
    assert drive.up_u.value == pytest.approx(0.03 / sqrt(3))


def test_monuments_of_a_list_are_read_first_and_last() -> None:
    """One reading stands before the rolls; of three, one half-way; one set aside keeps its time."""
    taken = survey(
        ("monuments: {M1: 0, M2: 0}", "monuments: {M1: [0, 0.1, 0.2], M2: 0}"),
        (
            "monuments: {M1: 1.2, M2: 1.3}",
            "monuments: {M1: [{reading: 1.2, exclude: {reason: knocked}}, 1.3], M2: 1.3}",
        ),
    )
    times = [[(one.monument, one.moment) for one in setup.monuments] for setup in taken.setups]
    assert times[0] == [("M1", 0.0), ("M1", 0.5), ("M1", 1.0), ("M2", 0.0)]
    assert times[1] == [("M1", 0.0), ("M1", 1.0), ("M2", 0.0)]


def test_interval_of_the_plant_and_read_out_of_a_move() -> None:
    """An interval in months or days, a step in mm; neither need be stated."""
    found = survey(
        ("finished: 2026-03-17}", "finished: 2026-03-17, interval: 2 years}"),
        ("downstream: 0.5 mm}", "downstream: 0.5 mm, read_to: 1 thou}"),
    )
    assert found.visit.interval == Every(months=24)
    assert found.adjustments[0].read_to_mm == pytest.approx(0.0254)
    assert (survey().visit.interval, survey().adjustments[0].read_to_mm) == (None, None)


def test_level_uncertainties_may_be_divisions() -> None:
    """A division is worth the sensitivity of the level."""
    found = survey(("  coverage: {k: 2}", "  level_zero: {standard: 1 div}\n  coverage: {probability: 95 %}"))
    assert found.uncertainty.level_mm_per_m is not None
    assert found.uncertainty.level_zero_mm_per_m is not None
    assert found.uncertainty.level_mm_per_m.value == 0.2 * 0.02
    assert found.uncertainty.level_zero_mm_per_m.value == 0.02
    assert (found.uncertainty.coverage.k, found.uncertainty.coverage.probability) == (None, 0.95)


@pytest.mark.parametrize(
    ("stated", "limit"),
    [
        ("{limit: 0.1 mm, over: bearings}", Limit(0.05, "0.1 mm over bearings")),
        ("{limit: 0.095 mm, over: face}", Limit(0.05, "0.095 mm over face")),
        ("{limit: 0.05 mm, over: 1000}", Limit(0.05, "0.05 mm over 1000 mm")),
        ("{limit: 0.05 mm, over: 1 m}", Limit(0.05, "0.05 mm over 1 m")),
        ("{limit: 0.05 mm/m}", Limit(0.05, "0.05 mm/m")),
        ("{limit: 0.6 thou/ft}", Limit(0.05, "0.6 thou/ft")),
    ],
)
def test_limit_becomes_a_slope(stated: str, limit: Limit) -> None:
    """A limit in length is divided by what it holds over."""
    found = survey((PARALLEL, f"parallel: {stated}")).rolls[1].parallel_limit
    assert found is not None
    assert found.slope_mm_per_m == pytest.approx(limit.slope_mm_per_m, rel=1e-15)
    assert found.stated == limit.stated


def test_roll_has_its_own_tolerances() -> None:
    """A roll's own tolerance stands before that of all rolls; adjacent is resolved with its own sizes."""
    found = survey(
        (R2, f"{R2} level: {{limit: 0.3 mm/m}}, parallel: {{limit: 1 mm, over: face}},"),
        (PARALLEL, f"{PARALLEL}\n  adjacent: {{limit: 0.2 mm, over: bearings}}"),
    ).rolls
    assert found[1].level_limit == Limit(0.3, "0.3 mm/m")
    assert found[1].parallel_limit == Limit(1 / 1900 * 1000, "1 mm over face")
    assert found[0].level_limit == Limit(0.05, "0.05 mm/m")
    assert found[1].adjacent_limit == Limit(0.1, "0.2 mm over bearings")


def test_optional_parts_are_read() -> None:
    """Taper, growth, adjustments, shims, web and notes."""
    found = survey(
        (
            R2,
            f"{R2} taper: -10 um, {GROWTH},",
        ),
        (
            "shims: {",
            f"{WEB}\nshims: {{",
        ),
        ("conditions: {temperature: 21", "notes: [one, two]\nconditions: {temperature: 68 degF"),
        ("side: drive, downstream: 0.5 mm", "side: drive, up: 0.1 mm, downstream: 0.5 mm"),
    )
    assert found.rolls[1].taper_mm == -0.01
    assert found.rolls[1].growth.operator == BearingGrowth(0.1, 0.0)
    assert found.rolls[1].growth.drive == BearingGrowth(0.2, -0.0254)
    assert found.adjustments == (Adjustment("R2", "drive", 0.1, 0.5),)
    assert found.shims == ShimStock((0.05, 0.1), 4)
    assert found.web == Web(1500.0, 0.02, 0.15, 3500.0, {"R2": 1100.0})
    assert found.notes == ("one", "two")
    assert found.conditions.temperature_c == 20.0


def test_setup_takes_the_only_laser() -> None:
    """Where there is one laser, a setup need not name it."""
    assert [setup.instrument for setup in survey().setups] == ["laser", "laser"]


def test_setup_keys_are_read() -> None:
    """Date, reversal and level check of a setup."""
    extra = "date: 2026-03-17\n    reversed: true\n    level_check: {before: 0.01 mm/m, after: -4 arcsec}"
    setup = survey(
        ("  - id: B\n", f"  - id: B\n    {extra}\n"),
        ("  coverage", "  squareness: {standard: 1 arcsec}\n  coverage"),
    ).setups[1]
    assert str(setup.day) == "2026-03-17"
    assert setup.reversed
    assert setup.level_check is not None
    assert setup.level_check.after_mm_per_m == pytest.approx(-0.01939254724681243, rel=1e-14)


def test_places_know_every_path() -> None:
    """Every path of the survey leads to its line."""
    places = survey().places
    lines = SOUND.splitlines()
    for path, text in (
        ("setups[0]", "- id: A"),
        ("setups[0].as_found.R2", "R2: {operator: 0, drive: -0.4}"),
        ("rolls[2]", "id: R3"),
    ):
        assert text in lines[places[path].line - 1]
    assert places["reference.roll"] == Place(23, 19)


def test_survey_keeps_its_source() -> None:
    """The exact bytes and their digest stay with the survey."""
    found = survey()
    assert found.source == SOUND.encode()
    assert len(found.sha256) == 64


SIZES = r"\b(station|height|diameter|face|bearings|at)"
READINGS = r"\b(operator|drive|M1|M2|half_width|standard|expanded)"


def scaled(line: str, keys: str, factor: str) -> str:
    """Return a line with the bare numbers of some keys multiplied, in exact decimals."""
    bare = re.compile(keys + r": (-?[0-9.]+)(?=[,}\]])")
    return bare.sub(lambda found: f"{found[1]}: {Decimal(found[2]) * Decimal(factor):f}", line)


def from_inches(text: str) -> str:
    """Return a survey whose bare numbers were inches and thou with bare numbers that are millimetres."""
    lines = [scaled(line, SIZES, "25.4") for line in text.splitlines(keepends=True)]
    lines = [scaled(line, READINGS, "25.4" if line.startswith("targets") else "0.0254") for line in lines]
    return "".join(lines)


def test_survey_in_inches_is_the_survey_in_millimetres() -> None:
    """The same lengths give the same floats, to the last bit."""
    units = "units: {readings: mm, dimensions: mm,"
    inch = survey((units, "units: {readings: thou, dimensions: in,"))
    millimetre = read_bytes("survey.yaml", from_inches(SOUND).encode()).survey
    assert millimetre is not None
    assert millimetre.rolls[1].bearings_mm == 50800.0
    assert (inch.rolls, inch.monuments) == (millimetre.rolls, millimetre.monuments)
    assert (inch.setups, inch.level) == (millimetre.setups, millimetre.level)
    for one, other in (
        (inch.uncertainty.reading_mm, millimetre.uncertainty.reading_mm),
        (inch.uncertainty.repeatability_mm, millimetre.uncertainty.repeatability_mm),
        (inch.uncertainty.seating_mm, millimetre.uncertainty.seating_mm),
    ):
        assert one is not None
        assert other is not None
        assert one.value == pytest.approx(other.value, rel=1e-15)
