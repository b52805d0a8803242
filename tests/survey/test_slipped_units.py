"""Readings, sizes, tolerances and years beyond what a roll line can have."""

import pytest

from certgen.findings import Finding
from tests.survey.sound import findings

PAIRS = ("R1: {operator: 0, drive: 0.1}", "R2: {operator: 0, drive: -0.4}", "R2: {operator: 0, drive: 0.02}")


def pairs(*ends: str) -> list[tuple[str, str]]:
    """Return the edits that give the three readings of setup A other ends."""
    return [(old, f"{old[:2]}: {{{new}}}") for old, new in zip(PAIRS, ends, strict=True)]


def errors(*edits: tuple[str, str]) -> list[str]:
    """Return where the changed survey has errors."""
    return [finding.where for finding in findings(*edits) if finding.severity == "error"]


@pytest.mark.parametrize(
    ("ends", "blamed"),
    [
        (("operator: 0, drive: 300", "operator: 0, drive: 299.5", "operator: 0, drive: 300.1"), []),
        (("operator: 900, drive: 900.1", "operator: 900, drive: 899", "operator: 900, drive: 900"), []),
        (("operator: 0, drive: 0.1", "operator: 0, drive: 159", "operator: 0, drive: 0"), []),
        (("operator: 0, drive: 0.1", "operator: 0, drive: 161", "operator: 0, drive: 0"), ["as_found.R2"]),
        (("operator: 0, drive: 100", "operator: 0, drive: -0.4", "operator: 0, drive: -65"), []),
        (("operator: 0, drive: 210", "operator: 0, drive: -0.4", "operator: 0, drive: 0"), ["as_found.R1"]),
        (("operator: 0, drive: 300", "operator: 0, drive: 299.5", "operator: 0, drive: 0.3"), ["as_left.R2"]),
        (
            ("operator: 0, drive: 300", "operator: 0, drive: 0", "operator: 0, drive: 300"),
            ["as_found.R2"],
        ),
        (
            ("operator: 0, drive: 0.1", "operator: 0, drive: [-0.4, -0.4, -400]", "operator: 0, drive: 0"),
            ["as_found.R2"],
        ),
        (("operator: 0.1 m, drive: 0.1", "operator: 0, drive: 0", "operator: 0, drive: 90"), []),
        (("operator: -161, drive: 0", "operator: 0, drive: 0", "operator: 0, drive: 0"), ["as_found.R1"]),
    ],
)
def test_pair_is_held_against_the_rest_of_its_setup(ends: tuple[str, str, str], blamed: list[str]) -> None:
    """How far the laser's plane stands askew of the line may be anything; it is the same for all it read."""
    assert errors(*pairs(*ends)) == [f"setups[0].{where}" for where in blamed]


def test_two_readings_that_differ_blame_the_larger() -> None:
    """Nothing says which of two is wrong; a slipped unit makes a number large."""
    edits = [*pairs("operator: 0, drive: 210", "operator: 0, drive: 0.2", "operator: 0, drive: 0")]
    without = (" as_left:\n      R2: {operator: 0, drive: 0.02}\n", " as_left: {}\n")
    assert errors(*edits[:2], without) == ["setups[0].as_found.R1"]


def test_pair_set_aside_is_not_judged() -> None:
    """A blunder that the survey sets aside openly is no reason to refuse it."""
    aside = "operator: 0, drive: 400, exclude: {reason: typed in thousandths}"
    assert errors(*pairs("operator: 0, drive: 0.1", aside, "operator: 0, drive: 0")) == []


def test_pair_of_unknown_distance_is_not_judged() -> None:
    """Where the targets are faulty, only they are blamed."""
    found = errors(
        ("targets: {operator: 200", "targets: {operator: far"),
        ("R2: {operator: 0, drive: -0.4}", "R2: {operator: 0, drive: -400}"),
    )
    assert found == ["targets.operator"]


def warned(*edits: tuple[str, str]) -> list[Finding]:
    """Return the warnings of the changed survey; there must be nothing else."""
    found = findings(*edits)
    assert {finding.severity for finding in found} <= {"warning"}
    return list(found)


@pytest.mark.parametrize(
    ("edit", "where", "message"),
    [
        (("level: {limit: 0.05 mm/m}", "level: {limit: 50 mm/m}"), "tolerances.level.limit", "50 mm/m"),
        (("parallel: {limit: 0.1 mm,", "parallel: {limit: 0.1 m,"), "tolerances.parallel.limit", "50 mm/m"),
        (
            ("diameter: 150,", "diameter: 150, level: {limit: 0.1 in/in},"),
            "rolls[1].level.limit",
            "over 5 mm/m",
        ),
        (("diameter: 150", "diameter: 1.5"), "rolls[1].diameter", "under 5 mm"),
    ],
)
def test_size_of_a_slipped_unit_is_warned_of(edit: tuple[str, str], where: str, message: str) -> None:
    """What a line could have in theory, and no line in use has, is said and refuses nothing."""
    found = warned(edit)
    assert [(one.where, message in one.message) for one in found] == [(where, True)]


def test_roll_of_wrong_size_is_warned_of() -> None:
    """A face and bearings in metres typed as millimetres, and the other way round."""
    sizes = "height: 900, diameter: 200, face: 1900, bearings: 2000, adjustable: both"
    small = "height: 900, diameter: 6, face: 19, bearings: 19.5, adjustable: both"
    large = "height: 900, diameter: 11 m, face: 21 m, bearings: 22 m, adjustable: both"
    own = (sizes, f"{small}, targets: {{operator: 1, drive: 19}}")
    assert [one.where for one in warned(own)] == ["rolls[2].face", "rolls[2].bearings"]
    found = [one.where for one in warned((sizes, large))]
    assert found == ["rolls[2].diameter", "rolls[2].face", "rolls[2].bearings"]


@pytest.mark.parametrize(
    ("year", "refused"), [("1969", True), ("1970", False), ("2100", False), ("9999", True)]
)
def test_year_of_a_day_is_bounded(year: str, refused: bool) -> None:
    """A digit too many or too few is not a year in which a line was surveyed."""
    found = findings(("issued: 2026-03-20", f"issued: {year}-03-20"))
    assert any("the year is outside 1970 to 2100" in one.message for one in found) is refused


def test_old_visit_is_warned_of() -> None:
    """A survey of the last century may be entered, and is more likely a slip."""
    edits = (
        ("visit: {started: 2026", "visit: {started: 1996"),
        ("finished: 2026", "finished: 1996"),
        ("calibrated: 2026-01-05", "calibrated: 1996-01-05"),
        ("calibrated: 2026-01-06", "calibrated: 1996-01-06"),
    )
    assert [(one.where, one.message) for one in warned(*edits)] == [("visit.started", "a visit before 2000")]
