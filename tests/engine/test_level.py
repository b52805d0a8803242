"""Level: the reversed pair, the zero error, sag, taper and heights."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.network.level import zero_error
from certgen.network.solution import Solution, solve_survey
from certgen.survey.survey import HeightReading, LevelReadings, Survey
from tests.simulate.records import EXAMPLES, TARGETS, UNCERTAINTY, levelled, roll, standard, survey, tilt

U = 0.010
SLOPES = st.floats(-1.0, 1.0)


def solved(*slopes, **changes) -> Solution:
    """Return the solution of level readings on R1 and R2."""
    rolls = (roll("R1"), roll("R2", **changes))
    return solve_survey(survey(rolls, level=levelled(*slopes)))


def heights(name: str, operator: float, drive: float) -> HeightReading:
    """Return the heights of both ends of a roll, mm."""
    return HeightReading(name, "as_found", operator, drive, TARGETS, "")


def with_heights(*pairs: HeightReading, slopes=(), **changes) -> Survey:
    """Return a survey of R2 by heights, with slope readings beside them."""
    return survey((roll("R1"), roll("R2", **changes)), level=LevelReadings("level", tuple(slopes), pairs))


@EXAMPLES
@given(first=SLOPES, second=SLOPES)
def test_reversed_pair_gives_half_the_sum_and_half_the_difference(first, second):
    """Signs of the machine both ways: slope (A + B)/2, zero error (A - B)/2, each with u/√2."""
    found = solved(tilt("R1", first), tilt("R1", second, turned=True)).level
    zero = found.network.estimate({zero_error("level"): 1.0})
    assert found.slopes["R1", "as_found"].value == pytest.approx((first + second) / 2.0, abs=1e-12)
    assert zero.value == pytest.approx((first - second) / 2.0, abs=1e-12)
    assert (found.slopes["R1", "as_found"].u, zero.u) == pytest.approx((U / 2**0.5, U / 2**0.5))


def test_zero_error_of_one_roll_corrects_the_others():
    """Found on R1 as 0.1, it is taken off R2, and its u carried there."""
    found = solved(tilt("R1", 0.3), tilt("R1", 0.1, turned=True), tilt("R2", 0.5)).level.slopes
    assert found["R2", "as_found"].value == pytest.approx(0.4, abs=1e-12)
    assert found["R2", "as_found"].u ** 2 == pytest.approx(1.5 * U**2)


def test_zero_error_without_a_reversal_is_carried_as_uncertainty():
    """Never reversed: no correction, and one more u in every slope, which cancels between two rolls."""
    found = solved(tilt("R1", 0.3), tilt("R2", 0.5)).level.slopes
    one, two = found["R1", "as_found"], found["R2", "as_found"]
    assert (one.value, two.value) == pytest.approx((0.3, 0.5), abs=1e-12)
    assert one.u**2 == pytest.approx(2.0 * U**2)
    assert (two - one).u ** 2 == pytest.approx(2.0 * U**2)


def test_zero_error_takes_its_own_stated_uncertainty():
    """Where the survey states one for the zero error, that one enters."""
    stated = replace(UNCERTAINTY, level_zero_mm_per_m=standard(0.03))
    line = survey((roll("R1"),), level=levelled(tilt("R1", 0.3)), uncertainty=stated)
    assert solve_survey(line).level.slopes["R1", "as_found"].u ** 2 == pytest.approx(U**2 + 0.03**2)


def test_reversal_at_another_place_does_not_find_the_zero_error():
    """A reversed reading elsewhere on the roll is no pair: sag could be what differs."""
    apart = (tilt("R1", 0.3, 500.0), tilt("R1", 0.1, 2000.0, turned=True))
    assert solved(*apart).level.network.values[zero_error("level")] == pytest.approx(0.0, abs=1e-12)


def test_sag_is_told_from_slope_at_two_places():
    """Readings 0.1 and 0.3 at 1 m apart about the middle: slope 0.2, sag 0.2 mm/m per metre."""
    values = solved(tilt("R1", 0.1, 850.0), tilt("R1", 0.3, 1850.0)).level.network.values
    found = {unknown.kind: value for unknown, value in values.items()}
    assert found == pytest.approx({"slope": 0.2, "sag": 0.2, "zero": 0.0}, abs=1e-12)


def test_sag_found_in_one_round_serves_the_other():
    """As left at one place off the middle, the sag found before is taken off."""
    found = solved(
        tilt("R2", 0.1, 850.0), tilt("R2", 0.3, 1850.0), tilt("R2", 0.15, 1850.0, in_round="as_left")
    ).level.slopes
    assert found["R2", "as_left"].value == pytest.approx(0.15 - 0.2 * 0.5, abs=1e-12)


def test_sag_is_left_out_where_each_round_read_one_place():
    """One place as found, another as left: the difference is the move, not sag."""
    found = solved(tilt("R2", 0.1, 850.0), tilt("R2", 0.3, 1850.0, in_round="as_left")).level
    assert not any(unknown.kind == "sag" for unknown in found.network.values)


def test_taper_that_is_larger_at_the_drive_side_lifts_the_top_there():
    """0.24 mm more in diameter over 2400 mm: 0.05 mm/m of the reading is the taper's."""
    found = solved(tilt("R2", 0.05), taper_mm=0.24).level.slopes
    assert found["R2", "as_found"].value == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("taper", [0.0, 0.24])
def test_heights_give_the_slope_between_the_targets(taper):
    """Drive end 0.21 mm higher over 2.1 m is 0.1 mm/m, less the taper; the plane's height says nothing."""
    found = solve_survey(with_heights(heights("R2", 50.0, 50.21), taper_mm=taper)).level.slopes
    assert found["R2", "as_found"].value == pytest.approx(0.1 - taper / 4.8, abs=1e-9)
    assert found["R2", "as_found"].u ** 2 == pytest.approx(2.0 * (0.003**2 + 0.008**2 + 0.01**2) / 2.1**2)


@pytest.mark.parametrize("ends", [TARGETS, (300.0, 1350.0), (100.0, 2000.0)])
def test_heights_take_off_a_sag_found_by_the_level(ends):
    """A sag of 0.2 mm/m per metre lifts an end by 0.1 mm/m² times its distance from the middle squared."""
    near, far = (at / 1000.0 - 1.35 for at in ends)
    rise = 0.2 * (far - near) + 0.1 * (far**2 - near**2)
    pair = replace(heights("R2", 7.0, 7.0 + rise), y_mm=ends)
    line = with_heights(pair, slopes=(tilt("R2", 0.1, 850.0), tilt("R2", 0.3, 1850.0)))
    found = solve_survey(line).level
    assert found.slopes["R2", "as_found"].value == pytest.approx(0.2, abs=1e-9)
    assert found.quality.chi_square == pytest.approx(0.0, abs=1e-9)


def test_roll_that_cannot_move_has_one_level():
    """Both rounds of a fixed roll are one slope, the mean of its readings."""
    taken = (tilt("R2", 0.1), tilt("R2", 0.3, in_round="as_left"))
    found = solved(*taken, adjustable="none").level.slopes
    assert found["R2", "as_found"].value == found["R2", "as_left"].value == pytest.approx(0.2, abs=1e-12)
