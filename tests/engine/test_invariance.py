"""What must not change the result: scale, order, origins, target heights and offsets of the laser."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.network.solution import Solution, solve_survey
from certgen.survey.survey import (
    Monument,
    OtherSource,
    Reference,
    Roll,
    RunOut,
    Setup,
    StandardUncertainty,
    Survey,
)
from tests.simulate.lines import draw
from tests.simulate.noise import noisy
from tests.simulate.records import EXAMPLES, standard

SEEDS = st.integers(0, 2**32 - 1)
AMOUNTS = st.floats(-300.0, 300.0)
OTHERS = tuple(
    OtherSource(f"by {shared}", aspect, shared, standard(0.003))
    for aspect in ("level", "parallel")
    for shared in ("line", "setup", "roll", "reading")
)
ROLL, LINE = Reference("R1"), Reference(None, ("M1", "M3"))


def surveyed(seed: int, reference: Reference = ROLL) -> Survey:
    """Return a noisy survey of an invented line, the squareness stated, and all that readings share."""
    rng = np.random.default_rng(seed)
    survey = noisy(rng, draw(rng, reference).survey(rng))
    stated = replace(survey.uncertainty, squareness_mm_per_m=standard(0.01), other=OTHERS)
    return replace(
        survey,
        uncertainty=stated,
        rolls=tuple(replace(one, run_out=RunOut(standard(0.004))) for one in survey.rolls),
        instruments=tuple(replace(one, scale=standard(0.001)) for one in survey.instruments),
    )


def numbers(solved: Solution) -> list[float]:
    """Return chi-square, then every slope and u, in one order."""
    aspects = (solved.parallel, solved.level)
    slopes = [aspect.slopes[key] for aspect in aspects for key in sorted(aspect.slopes)]
    chi = [aspect.quality.chi_square for aspect in aspects]
    return chi + [number for slope in slopes for number in (slope.value, slope.u)]


def assert_same(one: Survey, other: Survey, within: float = 1e-9) -> None:
    """Assert that both surveys solve to the same numbers."""
    assert numbers(solve_survey(other)) == pytest.approx(numbers(solve_survey(one)), rel=within, abs=within)


def per_setup(survey: Survey, change: Callable[[Setup], Setup]) -> Survey:
    """Return the survey with every setup changed."""
    return replace(survey, setups=tuple(change(setup) for setup in survey.setups))


@pytest.mark.parametrize("reference", [ROLL, LINE], ids=["roll", "line"])
@EXAMPLES
@given(seed=SEEDS)
def test_result_does_not_depend_on_order(reference, seed):
    """Setups, rolls, monuments and readings may stand in any order."""
    survey, rng = surveyed(seed, reference), np.random.default_rng(seed)

    def mixed(items: tuple) -> tuple:
        return tuple(items[i] for i in rng.permutation(len(items)))

    setups = tuple(
        replace(setup, monuments=mixed(setup.monuments), readings=mixed(setup.readings))
        for setup in mixed(survey.setups)
    )
    other = replace(survey, rolls=mixed(survey.rolls), monuments=mixed(survey.monuments), setups=setups)
    assert_same(survey, replace(other, level=replace(survey.level, slopes=mixed(survey.level.slopes))))


@pytest.mark.parametrize("reference", [ROLL, LINE], ids=["roll", "line"])
@EXAMPLES
@given(seed=SEEDS, by_mm=st.floats(-1e5, 1e5))
def test_result_does_not_depend_on_the_origin_of_stations(reference, seed, by_mm):
    """Stations may be counted from anywhere."""
    survey = surveyed(seed, reference)

    def moved(one: Roll | Monument) -> Roll | Monument:
        return replace(one, station_mm=one.station_mm + by_mm)

    other = replace(
        survey, rolls=tuple(map(moved, survey.rolls)), monuments=tuple(map(moved, survey.monuments))
    )
    assert_same(survey, other, within=1e-7)


@EXAMPLES
@given(seed=SEEDS, by_mm=AMOUNTS)
def test_result_does_not_depend_on_the_target_height(seed, by_mm):
    """A constant on both ends of a seating is the height of its target: it says nothing."""

    def raised(setup: Setup) -> Setup:
        first, *others = setup.readings
        first = replace(first, operator_mm=first.operator_mm + by_mm, drive_mm=first.drive_mm + by_mm)
        return replace(setup, readings=(first, *others))

    survey = surveyed(seed)
    assert_same(survey, per_setup(survey, raised), within=1e-7)


@pytest.mark.parametrize("reference", [ROLL, LINE], ids=["roll", "line"])
@EXAMPLES
@given(seed=SEEDS, by_mm=AMOUNTS)
def test_result_does_not_depend_on_the_offset_of_a_setup(reference, seed, by_mm):
    """The same amount on all monuments of one setup is a laser moved aside: it turns nothing."""

    def aside(setup: Setup) -> Setup:
        if setup.id != "B":
            return setup
        return replace(
            setup, monuments=tuple(replace(each, value_mm=each.value_mm + by_mm) for each in setup.monuments)
        )

    survey = surveyed(seed, reference)
    assert_same(survey, per_setup(survey, aside), within=1e-7)


@EXAMPLES
@given(seed=SEEDS, times=st.floats(1e-3, 1e3))
def test_result_does_not_depend_on_the_unit_of_length(seed, times):
    """All lengths and their uncertainties in another unit: every slope and u stays."""
    survey = surveyed(seed)
    assert_same(survey, lengths_times(survey, times))


@EXAMPLES
@given(seed=SEEDS, times=st.floats(0.1, 10.0))
def test_uncertainty_scales_with_what_was_stated(seed, times):
    """All stated uncertainties times s: slopes stay, every u times s, chi-square over s²."""
    survey = surveyed(seed)
    changed = shared_times(uncertainty_times(survey, times), times)
    plain, other = (solve_survey(one).parallel for one in (survey, changed))
    for key, slope in plain.slopes.items():
        assert other.slopes[key].value == pytest.approx(slope.value, abs=1e-9)
        assert other.slopes[key].u == pytest.approx(times * slope.u, rel=1e-9)
    assert other.quality.chi_square == pytest.approx(plain.quality.chi_square / times**2, rel=1e-6)


def shared_times(survey: Survey, times: float) -> Survey:
    """Return the survey with all that its readings share times a factor."""

    def grown(one: StandardUncertainty) -> StandardUncertainty:
        return replace(one, value=times * one.value)

    others = tuple(replace(one, u=grown(one.u)) for one in survey.uncertainty.other)
    instruments = tuple(replace(one, scale=grown(one.scale)) for one in survey.instruments)
    stated = replace(survey.uncertainty, other=others)
    return replace(run_out_times(survey, times), uncertainty=stated, instruments=instruments)


def run_out_times(survey: Survey, times: float) -> Survey:
    """Return the survey with the run-out of its rolls times a factor."""
    out = {one.id: replace(one.run_out.u, value=times * one.run_out.u.value) for one in survey.rolls}
    rolls = tuple(replace(one, run_out=replace(one.run_out, u=out[one.id])) for one in survey.rolls)
    return replace(survey, rolls=rolls)


def uncertainty_times(survey: Survey, times: float, *names: str) -> Survey:
    """Return the survey with its uncertainties (all, or those named) times a factor."""
    chosen = names or (
        "reading_mm",
        "repeatability_mm",
        "seating_mm",
        "level_mm_per_m",
        "squareness_mm_per_m",
    )
    scaled = {
        name: replace(one, value=times * one.value)
        for name in chosen
        if (one := getattr(survey.uncertainty, name))
    }
    return replace(survey, uncertainty=replace(survey.uncertainty, **scaled))


def lengths_times(survey: Survey, times: float) -> Survey:
    """Return the survey with everything that is a length times a factor."""

    def grown(one, *names):
        return replace(one, **{name: times * getattr(one, name) for name in names})

    def setup(one: Setup) -> Setup:
        readings = (
            grown(replace(each, y_mm=tuple(times * y for y in each.y_mm)), "operator_mm", "drive_mm")
            for each in one.readings
        )
        monuments = (grown(each, "value_mm") for each in one.monuments)
        return replace(one, readings=tuple(readings), monuments=tuple(monuments))

    bigger = uncertainty_times(
        per_setup(survey, setup), times, "reading_mm", "repeatability_mm", "seating_mm"
    )
    survey = run_out_times(survey, times)
    monuments = tuple(grown(each, "station_mm") for each in survey.monuments)
    sizes = ("station_mm", "bearings_mm", "face_mm", "taper_mm")
    level = replace(survey.level, slopes=tuple(grown(each, "at_mm") for each in survey.level.slopes))
    return replace(
        bigger, level=level, monuments=monuments, rolls=tuple(grown(each, *sizes) for each in survey.rolls)
    )
