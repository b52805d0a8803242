"""Warnings, and what the checks do beside the faults that the faulty surveys show."""

import pytest

from certgen.errors import SurveyRefused
from certgen.findings import Finding, Place
from certgen.survey import Reading, accept, read_bytes
from tests.survey.sound import SOUND, changed, findings, reading

LEVEL = SOUND[SOUND.index("level:\n  instrument") : SOUND.index("setups:\n")]
AS_LEFT = "    as_left:\n      R2: {operator: 0, drive: 0.02}\n"


def warnings(*edits: tuple[str, str]) -> list[str]:
    """Return `where: message` of every warning; there must be no errors."""
    found = findings(*edits)
    assert {finding.severity for finding in found} <= {"warning"}
    return [f"{finding.where}: {finding.message}" for finding in found]


@pytest.mark.parametrize(
    ("edits", "where", "message"),
    [
        ([("conditions: {temperature: 21, notes: cold line}\n", "")], "conditions", "7.8.4.1 b)"),
        ([("temperature: 21, notes: cold line", "notes: cold line")], "conditions", "7.8.4.1 b)"),
        ([("temperature: 21, notes: cold line", "temperature: 71")], "conditions.temperature", "71 °C"),
        ([(AS_LEFT, "")], "as_left", "7.8.4.1 d)"),
        (
            [("adjustments:\n", "adjustments:\n  - {roll: R3, side: drive, up: 1 mm}\n")],
            "adjustments[0].up",
            "roll R3 was raised or lowered and its level not read again, which ISO/IEC 17025:2017, 7.8.4.1",
        ),
        (
            [("      R2: {operator: 0, drive: -0.4}\n", "")],
            "rolls[1].id",
            "roll R2 was read for parallel only as left: not measured as found",
        ),
        (
            [
                (
                    "      R2: {operator: 0, drive: 0.02}\n",
                    "      R2: {operator: 0, drive: 0.02, exclude: {reason: bumped}}\n",
                )
            ],
            "adjustments[0].downstream",
            "roll R2 was moved upstream or downstream and its parallel not read again",
        ),
        (
            [
                (
                    "      R3: {operator: 0, drive: 0.2}\n",
                    "      R3: {operator: 0, drive: 0.2, exclude: {reason: bumped}}\n",
                )
            ],
            "setups[1].as_found.R3",
            "no other parallel reading of roll R3 tells how it stood as found: not measured",
        ),
        ([(LEVEL, "")], "tolerances.level", "no level was read, so that no roll can be shown to keep"),
        ([("    R3: {operator: 0.1, drive: 0.2}\n", "")], "rolls[2].id", "not measured for level"),
        (
            [("R3: {operator: 0, drive: 0.2}", "R2: {operator: 0, drive: 0.2}")],
            "rolls[2].id",
            "not measured for parallel",
        ),
        (
            [
                (
                    "face: 1900, bearings: 2000, adjustable: both",
                    "face: 2100, bearings: 2000, adjustable: both",
                )
            ],
            "rolls[2].face",
            "longer",
        ),
        ([("diameter: 150", "diameter: 2150")], "rolls[1].diameter", "larger"),
        ([("station: 1000, height: 1200", "station: 2000, height: 900")], "rolls[2].station", "stands where"),
        (
            [("  - {id: M2, station: 2500}\n", "  - {id: M2, station: 2500}\n  - {id: M3, station: 3500}\n")],
            "monuments[2].id",
            "in no setup",
        ),
        ([("coverage: {k: 2}", "coverage: {k: 95}")], "uncertainty.coverage.k", "unusual"),
        (
            [("coverage: {k: 2}", "coverage: {probability: 0.95 %}")],
            "uncertainty.coverage.probability",
            "unusually small",
        ),
    ],
)
def test_oddity_is_warned_of(edits: list[tuple[str, str]], where: str, message: str) -> None:
    """What is odd and no fault is said, and refuses nothing."""
    found = warnings(*edits)
    assert any(line.startswith(where) and message in line for line in found), found


def test_setup_without_rolls_is_warned_of() -> None:
    """A setup that reads nothing measures nothing."""
    found = warnings(
        ("    as_found:\n      R3: {operator: 0, drive: 0.2}\n", ""),
    )
    assert "setups[1]: setup B reads no roll" in found


def test_reference_roll_need_not_be_measured() -> None:
    """The reference is not called unmeasured for parallel."""
    found = warnings(("      R1: {operator: 0, drive: 0.1}\n", ""))
    assert not any("R1 is not measured" in line for line in found)


def test_survey_of_levels_alone_passes() -> None:
    """Without setups neither a laser nor its uncertainties are asked for; nor is a tolerance on parallel."""
    setups = SOUND[SOUND.index("setups:\n") : SOUND.index("adjustments:\n")]
    laser = SOUND[SOUND.index("  - {id: laser") : SOUND.index("  - {id: level, kind")]
    lengths = SOUND[SOUND.index("  reading: {half") : SOUND.index("  level: {standard")]
    work = SOUND[SOUND.index("adjustments:\n") : SOUND.index("shims:")]
    heights = "    R3: {operator: 0.1, drive: 0.2}\n"
    targets = "targets: {operator: 200, drive: 1800}\n"
    parallel = "  parallel: {limit: 0.1 mm, over: bearings}\n"
    edits = [(one, "") for one in (setups, laser, lengths, work, heights, targets, parallel)]
    assert [where.partition(": ")[0] for where in warnings(*edits)] == ["as_left", "rolls[2].id"]


def test_survey_of_setups_alone_passes() -> None:
    """Without a level neither its uncertainty nor its tolerance is asked for."""
    level = SOUND[SOUND.index("  - {id: level, kind") : SOUND.index("uncertainty:")]
    edits = (
        (LEVEL, ""),
        (level, ""),
        ("  level: {standard: 0.2 div}\n", ""),
        ("  level: {limit: 0.05 mm/m}\n", ""),
    )
    assert warnings(*edits) == []


def test_tolerance_of_every_roll_is_enough() -> None:
    """Where each measured roll has its own tolerance, none for all rolls is asked for."""
    own = ", level: {limit: 0.1 mm/m}, "
    edits = [(f"{{id: R{n}, ", f"{{id: R{n}{own}") for n in (1, 2, 3)]
    assert warnings(("  level: {limit: 0.05 mm/m}\n", ""), *edits) == []


def test_instrument_on_its_last_day_passes() -> None:
    """An instrument may be used on the day it is due."""
    assert warnings(("due: 2027-01-05", "due: 2026-03-17")) == []


def test_laser_is_judged_by_the_days_of_its_setups() -> None:
    """Where every setup says its day, the laser need not cover the rest of the visit."""
    edits = [(f"  - id: {name}\n", f"  - id: {name}\n    date: 2026-03-16\n") for name in "AB"]
    assert warnings(("due: 2027-01-05", "due: 2026-03-16"), *edits) == []


def test_faults_of_value_leave_a_survey_to_check_ties_in() -> None:
    """Values that cannot be read are stood in for, so that later checks still find what they look for."""
    found = reading(
        ("issued: 2026-03-20", "issued: soon"), ("station: 1000", "station: far"), ("order: ", "ordr: ")
    )
    assert found.survey is not None
    assert len(found.findings) == 3


@pytest.mark.parametrize(
    "edit",
    [
        ("reference: {roll: R1}", "reference: {roll: R9}"),
        ("rolls:\n", "rolls: 7\nrols:\n"),
        ("seating: {expanded: 0.02, k: 2}", "seating: {}"),
        ("{id: R3, name", "{id: R2, name"),
        ("{id: R3, name", "{name"),
    ],
)
def test_faults_of_structure_leave_no_survey(edit: tuple[str, str]) -> None:
    """Where names or groups are faulty, nothing is built on them."""
    found = reading(edit)
    assert found.survey is None
    assert found.findings


def test_near_miss_of_a_key_is_read_as_that_key() -> None:
    """A mistyped key gives one finding, and what stands under it is still checked."""
    found = findings(("rolls:\n", "rols:\n"), ("diameter: 150", "diameter: 150 kg"))
    assert [finding.where for finding in found] == ["rols", "rolls[1].diameter"]
    assert found[0].hint.startswith("Did you mean rolls?")


def test_faulty_unit_is_blamed_once() -> None:
    """Bare numbers are not blamed for the fault of `units:`."""
    assert [finding.where for finding in findings(("readings: mm", "readings: feet"))] == ["units.readings"]


def test_findings_stand_in_file_order() -> None:
    """Whatever check found them, findings come by line and column."""
    found = findings(
        ("max: 4", "max: 0"), ("revision: 0", "revision: x"), ("due: 2027-01-05", "due: 2026-02-01")
    )
    assert [finding.place for finding in found] == sorted(finding.place for finding in found)
    assert len(found) == 3


def test_findings_are_cut_short_by_kind() -> None:
    """Thousands of warnings do not crowd out an error, and refuse nothing by themselves."""
    sizes = "height: 1, diameter: 2, face: 3, bearings: 4, adjustable: none"
    rolls = "".join(f"  - {{id: X{n}, name: n, station: {3000 + n}, {sizes}}}\n" for n in range(1200))
    many = changed(("monuments:\n  - {id: M1", f"{rolls}monuments:\n  - {{id: M1"))
    assert read_bytes("f", many.encode()).survey is not None
    found = read_bytes("f", many.replace("max: 4", "max: 0").encode()).findings
    assert sum(finding.severity == "error" for finding in found) == 1
    assert sum(finding.severity == "warning" for finding in found) == 1001


def test_faults_of_form_are_cut_short() -> None:
    """Thousands of faulty keys end in one more line, and the first of them are listed."""
    faulty = "".join(f"zz{number}: 1\n" for number in range(3000))
    found = read_bytes("f", (SOUND + faulty).encode())
    assert found.survey is None
    assert len(found.findings) == 1001
    listed = "".join(f"  - {{id: i{number}}}\n" for number in range(500))
    assert (
        len(read_bytes("f", changed(("instruments:\n", f"instruments:\n{listed}")).encode()).findings) == 1001
    )


@pytest.mark.parametrize(
    ("edit", "message"),
    [
        (("{id: R3, name", f"{{id: {'R' * 41}, name"), "longer than 40 characters"),
        (("{id: R3, name", '{id: "R\\n3", name'), "this stands on one line"),
        (("{id: R3, name", '{id: " ", name'), "no value is written here"),
        (("location: Hall T", f"location: {'x' * 2001}"), "longer than 2000 characters"),
        (("coverage: {k: 2}", "coverage: {k: 0.01}"), "this is outside 0.1 to 100"),
        (("diameter: 150", "diameter: 1e-9"), "this is too small to be real"),
        (("diameter: 150", "diameter: 150, taper: 200 mm"), "the taper is as large as the diameter"),
        (("{M1: 1.2, M2: 1.3}", "{M1: , M2: 1.3}"), "no value is written here"),
    ],
)
def test_fault_is_said(edit: tuple[str, str], message: str) -> None:
    """Faults beside those of the faulty surveys."""
    assert any(finding.message == message for finding in findings(edit))


def test_monuments_without_uncertainty_are_refused() -> None:
    """A monument has no seating: reading and repeatability cannot both be zero."""
    edits = (
        ("half_width: 0.005", "half_width: 0"),
        ("repeatability: {standard: 0.01}", "repeatability: {standard: 0}"),
    )
    assert "monuments have no other" in findings(*edits)[0].message


def test_accept_gives_a_sound_survey() -> None:
    """Warnings do not refuse."""
    found = reading((AS_LEFT, ""))
    assert found.findings
    assert accept("f", found) is found.survey


def test_accept_refuses_with_everything() -> None:
    """An error from elsewhere refuses as well, and all findings come along in file order."""
    more = Finding("error", Place(1, 1), "a", "made up", "Nothing.")
    found = reading((AS_LEFT, ""))
    with pytest.raises(SurveyRefused) as refused:
        accept("f", found, (more,))
    assert more in refused.value.findings
    assert len(refused.value.findings) == len(found.findings) + 1


def test_reading_is_frozen() -> None:
    """What was read cannot be changed."""
    with pytest.raises(AttributeError):
        Reading(None, ()).survey = None  # type: ignore[misc]


def test_suggestion_is_the_nearest_then_the_first() -> None:
    """Names that differ in capitals alone: the same file is always answered alike."""
    ids = ("line_A", "LINE_a", "Line_a", "LINE_A")
    sizes = "height: 0, diameter: 99, face: 99, bearings: 99, adjustable: none"
    rolls = "".join(
        f"  - {{id: {name}, name: n, station: {9000 + n}, {sizes}}}\n" for n, name in enumerate(ids)
    )
    for written, near in (("LINE_B", "LINE_a"), ("Line_b", "Line_a"), ("iine_a", "Line_a")):
        edits = (
            ("monuments:\n  - {id: M1", f"{rolls}monuments:\n  - {{id: M1"),
            ("      R3: {operator: 0, drive: 0.2}", f"      {written}: {{operator: 0, drive: 0.2}}"),
        )
        (found,) = (one for one in findings(*edits) if one.severity == "error")
        assert found.hint.startswith(f"Did you mean {near}?")


def test_names_are_trimmed_alike_where_declared_and_used() -> None:
    """Space around a name is no part of it, wherever it stands."""
    edits = (("id: R3", "id: 'R3 '"), ("R3: {operator: 0, drive: 0.2}", "' R3': {operator: 0, drive: 0.2}"))
    assert warnings(*edits) == []
