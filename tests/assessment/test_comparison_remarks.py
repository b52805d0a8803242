"""What to know before believing a comparison: sizes that differ, another line, a reference that moved."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from certgen import resources
from certgen.network.solution import solve_survey
from certgen.survey import accept, read_survey
from certgen.survey.survey import Conditions, Roll, Survey
from certgen.visits.comparison import compare, within
from certgen.visits.comparison_remarks import (
    OtherReference,
    Resized,
    other_line,
    other_reference,
    renamed,
    resized,
    scattered,
    temperatures,
)
from tests.simulate import records
from tests.simulate.visits import line, pair_of_rolls, solved, turned, visit

ONE = line(9)
FIRST = visit(ONE, 0, np.random.default_rng(0))
SECOND = visit(ONE, 1, np.random.default_rng(1))


def with_roll(survey: Survey, name: str, **changes: object) -> Survey:
    """Return the survey with one roll changed."""

    def changed(roll: Roll) -> Roll:
        return replace(roll, **changes) if roll.id == name else roll

    return replace(survey, rolls=tuple(changed(roll) for roll in survey.rolls))


def test_same_dimensions_are_no_remark() -> None:
    """Nor are those that differ by the rounding of another unit."""
    assert resized(compare(*solved(FIRST, with_roll(SECOND, "R4", face_mm=2400.004)))) == ()


def test_changed_dimensions_are_named() -> None:
    """Both values, roll by roll."""
    second = with_roll(SECOND, "R4", face_mm=2500.0, bearings_mm=2800.0)
    assert resized(compare(*solved(FIRST, second))) == (
        Resized("R4", "bearings", 2700.0, 2800.0),
        Resized("R4", "face", 2400.0, 2500.0),
    )


def test_stations_from_another_origin_are_no_remark() -> None:
    """All of them shifted alike; a roll that stands elsewhere still is one."""
    moved = replace(SECOND, rolls=tuple(replace(r, station_mm=r.station_mm + 500.0) for r in SECOND.rolls))
    assert resized(compare(*solved(FIRST, moved))) == ()
    one = with_roll(moved, "R3", station_mm=3700.0)
    assert [found.roll for found in resized(compare(*solved(FIRST, one)))] == ["R3"]


def test_changes_are_named_roll_by_roll() -> None:
    """R3 stands elsewhere and R5 is wider: in the order of the rolls, whatever has changed of them."""
    second = with_roll(with_roll(SECOND, "R5", face_mm=2500.0), "R3", station_mm=3700.0)
    found = [(one.roll, one.dimension) for one in resized(compare(*solved(FIRST, second)))]
    assert found == [("R3", "station"), ("R5", "face")]


def test_other_asset_is_named() -> None:
    """Two surveys of two lines compare nothing."""
    other = replace(SECOND, line=replace(SECOND.line, asset="L2"))
    assert other_line(FIRST, SECOND) is None
    assert other_line(FIRST, other) == ("L1", "L2")


def test_renamed_rolls_are_paired() -> None:
    """Before and after."""
    first, second = pair_of_rolls({"R1": 0.0, "R2": 0.0}, {"R1": 0.0, "T2": 0.0})
    assert renamed(compare(*solved(first, with_roll(second, "T2", was="R2")))) == (("R2", "T2"),)


def test_reference_that_moved_is_suspected() -> None:
    """All others seem to have moved; against any of them nothing has but the reference."""
    all_but_one = {f"R{number}": 0.2 for number in range(2, 10)}
    second = visit(turned(ONE, all_but_one), 1, np.random.default_rng(1))
    found = other_reference(compare(*solved(FIRST, second)))
    assert found is not None
    assert (found.present, found.moved) == (8, 1)


def test_reference_that_stood_still_is_not_suspected() -> None:
    """Two of eight rolls have moved: no reason to look for another reference."""
    second = visit(turned(ONE, {"R4": 0.3, "R8": 0.3}), 1, np.random.default_rng(1))
    assert other_reference(compare(*solved(FIRST, second))) is None


def test_reference_is_not_suspected_where_nothing_tells_it_from_the_others() -> None:
    """Of two other rolls, or of rolls that were adjusted within one visit."""
    two = pair_of_rolls({"R1": 0.0, "R2": 0.0, "R3": 0.0}, {"R1": 0.0, "R2": 1.0, "R3": 1.0})
    comparison = compare(*solved(*two))
    assert [roll.parallel.outcome for roll in comparison.rolls] == ["reference", "moved", "moved"]
    assert other_reference(comparison) is None
    file = str(resources.sample_surveys() / "winder_inch.yaml")
    assert other_reference(within(solve_survey(accept(file, read_survey(file))), "R2")) is None


def test_reference_is_suspected_from_three_other_rolls_on() -> None:
    """R2, R3 and R4 all turned alike: against R2 only R1 has moved."""
    drives = {"R2": 1.0, "R3": 1.0, "R4": 1.0}
    pair = pair_of_rolls({"R1": 0.0, **dict.fromkeys(drives, 0.0)}, {"R1": 0.0, **drives})
    assert other_reference(compare(*solved(*pair))) == OtherReference("R2", 1, 3)


@pytest.mark.slow
@pytest.mark.parametrize(("others", "suspected"), [(200, True), (201, False)])
def test_reference_is_suspected_up_to_two_hundred_other_rolls(others: int, suspected: bool) -> None:
    """Every roll is tried against every other, which takes too long on more."""
    drives = {f"R{number}": 1.0 for number in range(2, others + 2)}
    pair = pair_of_rolls({"R1": 0.0, **dict.fromkeys(drives, 0.0)}, {"R1": 0.0, **drives})
    found = other_reference(compare(*solved(*pair)))
    assert found == (OtherReference("R2", 1, others) if suspected else None)


def test_reference_that_is_suspected_is_the_one_against_which_fewest_moved() -> None:
    """R2 moved by itself, R3 to R6 alike: against R2 all five have moved, against R3 only R1 and R2."""
    drives = {"R2": 2.0, "R3": 1.0, "R4": 1.0, "R5": 1.0, "R6": 1.0}
    pair = pair_of_rolls({"R1": 0.0, **dict.fromkeys(drives, 0.0)}, {"R1": 0.0, **drives})
    assert other_reference(compare(*solved(*pair))) == OtherReference("R3", 2, 5)


def test_visits_alike_in_temperature_are_no_remark() -> None:
    """Within 5 K, or where nobody noted it; beyond that the coldest and the warmest are named."""

    def at(*known: float | None) -> list[Survey]:
        return [replace(FIRST, conditions=Conditions(temperature_c=one)) for one in known]

    assert temperatures(at(20.0, 25.0, None)) is None
    assert temperatures(at(None, None)) is None
    assert temperatures(at(21.0, 14.0, 30.0)) == (14.0, 30.0)
    assert temperatures(at(20.0, 25.2)) == (20.0, 25.2)


def test_readings_that_scatter_beyond_the_stated_are_named() -> None:
    """A tenth of the true uncertainty was stated at the second visit."""
    stated = SECOND.uncertainty
    small = replace(
        stated,
        reading_mm=records.standard(0.0003),
        repeatability_mm=records.standard(0.0008),
        seating_mm=records.standard(0.001),
    )
    found = scattered(solved(FIRST, replace(SECOND, uncertainty=small)))
    assert ("T-2027", "parallel") in [(one.certificate, one.aspect) for one in found]
    assert scattered(solved(FIRST)) == ()


@pytest.mark.parametrize(("rolls", "tried"), [(2, False), (3, True), (200, True), (201, False)])
def test_other_reference_is_sought_among_three_to_two_hundred_rolls(
    rolls: int, tried: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All of them moved, and against any other one none did; beyond so many rolls nobody waits for it."""
    moved = tuple(
        SimpleNamespace(name=f"R{n}", parallel=SimpleNamespace(outcome="moved")) for n in range(rolls)
    )
    whole = SimpleNamespace(reference="R0", within_one_visit=False, rolls=moved)
    monkeypatch.setattr("certgen.visits.comparison_remarks.rolls_against", lambda *_: ())
    found = other_reference(whole)  # type: ignore[arg-type]  # all that it looks at
    assert found == (OtherReference("R0", 0, rolls) if tried else None)
