"""Steps at both bearings: within travel, near the target, by shims where there are any."""

from dataclasses import replace
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.moves.steps import (
    ROUNDING_MM,
    SIDES,
    Alternative,
    Room,
    alternatives,
    effect_mm_per_m,
    move_of,
    other,
    raising_side,
    reported_mm,
    room,
    steps,
    stop_reading_mm,
)
from certgen.network.solution import solve_survey
from certgen.survey.survey import Adjustment, BearingTravel, ShimStock, Travel
from tests.simulate.records import EXAMPLES, levelled, read, roll, setup, survey, tilt

SHIMS = ShimStock((0.05, 0.1, 0.2, 0.5), 3)
FREE = Room()
BOTH = {"operator": FREE, "drive": FREE}
MOVES = st.floats(-2.0, 2.0).filter(lambda amount: abs(amount) > 1e-6)
ROOMS = st.builds(Room, st.floats(-1.0, 0.0), st.floats(0.0, 1.0))


def one(**changes: object) -> object:
    """Return a roll two metres between its bearings: 0.1 mm at one of them is 0.05 mm/m."""
    return roll("R2", bearings_mm=2000.0, **changes)


def test_step_takes_out_the_error_at_one_bearing() -> None:
    """Drive end 0.1 mm low: raised by it, and then on target."""
    (step,) = steps(one(), "drive", (-0.05, 0.0), BOTH, None)
    assert (step.side, step.shims) == ("drive", None)
    assert (step.amount_mm, step.before_mm_per_m) == (pytest.approx(0.1), -0.05)
    assert step.aim_mm_per_m == step.after_mm_per_m == pytest.approx(0.0, abs=1e-15)


def test_no_step_where_nothing_is_to_be_moved() -> None:
    """On target, or without room."""
    shut = dict.fromkeys(SIDES, Room(0.0, 0.0))
    assert steps(one(), "drive", (0.02, 0.02), BOTH, None) == ()
    assert steps(one(), "drive", (0.02, 0.0), shut, None) == ()


@pytest.mark.parametrize("rounding", [1e-17, -1e-17])
def test_rounding_is_no_step_and_decides_nothing(rounding: float) -> None:
    """What one processor computes as zero another one computes as the last digit of something."""
    assert steps(one(), "drive", (rounding, 0.0), BOTH, None) == ()
    assert raising_side(one(adjustable="both"), rounding) == raising_side(one(adjustable="both"), 0.0)
    found = alternatives(one(adjustable="both"), "operator", rounding, BOTH, raising=True)
    assert [(way.way, way.moves_mm is None, way.fits) for way in found] == [
        ("one_bearing", False, True),
        ("raise_only", False, True),
        ("split", False, True),
    ]
    assert Room(-0.1, 0.1).within(0.1 + rounding) == 0.1 + rounding


@pytest.mark.parametrize(("beyond", "cut"), [(0.9e-9, False), (1.1e-9, True)])
def test_travel_is_kept_to_a_millionth_of_a_micrometre(beyond: float, cut: bool) -> None:
    """Either way; what is less is rounding of the arithmetic."""
    for sign in (1.0, -1.0):
        wanted = sign * (0.1 + beyond)
        assert Room(-0.1, 0.1).within(wanted) == (sign * 0.1 if cut else wanted)


@pytest.mark.parametrize(
    ("error", "side"), [(0.0, "drive"), (0.9e-9, "drive"), (1.1e-9, "operator"), (-0.01, "drive")]
)
def test_bearing_that_is_low_is_raised(error: float, side: str) -> None:
    """The drive side is high where the error is above zero; what is smaller than a rounding is none."""
    assert raising_side(one(adjustable="both"), error) == side


@pytest.mark.parametrize(("side", "reading"), [("drive", -0.405), ("operator", 0.405)])
def test_reading_to_stop_at_by_hand(side: str, reading: float) -> None:
    """Targets at 300 and 2400 mm, bearings 2700 mm apart; from 0.2 to -0.1 mm/m, the plane at 0.05 mm/m.

    The far end reads 0.15 x 2.1 = 0.315 before; turned by -0.3 over 2.4 m it gains -0.72, and the sum is
    -0.405; from the other side both have the other sign.
    """
    at = roll("R2", targets_mm=(300.0, 2400.0), bearings_mm=2700.0)
    assert stop_reading_mm(at, side, 0.2, -0.1, 0.05) == pytest.approx(reading, rel=1e-12)


@pytest.mark.parametrize(("which", "side"), [("as_found", "operator"), ("as_left", "drive")])
def test_parallel_is_moved_at_the_bearing_raised_for_level_in_that_round(which: str, side: str) -> None:
    """The drive side was high as found and low as left."""
    both = roll("R2", adjustable="both")
    level = levelled(tilt("R2", 0.1), tilt("R2", -0.1, in_round="as_left"))
    seen = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.2), read("R2", 0.0, 0.2, "as_left"))
    solution = solve_survey(survey((roll("R1"), both), (seen,), level=level))
    assert move_of(solution, "parallel", both, which, 0.1).side == side


def test_other_bearing_takes_what_travel_leaves() -> None:
    """0.1 mm to raise, 0.06 mm of room: the other bearing comes down by 0.04 mm."""
    first, second = steps(one(), "drive", (-0.05, 0.0), {"drive": Room(-1.0, 0.06), "operator": FREE}, None)
    assert (first.side, first.amount_mm, first.after_mm_per_m) == ("drive", 0.06, pytest.approx(-0.02))
    assert (second.side, second.amount_mm) == ("operator", pytest.approx(-0.04))
    assert second.before_mm_per_m == first.after_mm_per_m
    assert second.after_mm_per_m == pytest.approx(0.0, abs=1e-15)


def test_shims_are_for_raising_and_never_beyond_the_travel() -> None:
    """0.26 mm: 0.2 + 0.05; with room for 0.24 mm: 0.2 alone; and lowering has no pack."""
    (free,) = steps(one(), "drive", (-0.13, 0.0), BOTH, SHIMS)
    assert free.shims.pieces_mm == (0.2, 0.05)
    assert free.after_mm_per_m == pytest.approx(-0.005)
    tight, _ = steps(one(), "drive", (-0.13, 0.0), {**BOTH, "drive": Room(0.0, 0.24)}, SHIMS)
    assert (tight.amount_mm, tight.shims.pieces_mm) == (0.24, (0.2,))
    assert tight.aim_mm_per_m == pytest.approx(-0.01)
    (lowered,) = steps(one(), "drive", (0.13, 0.0), BOTH, SHIMS)
    assert (lowered.amount_mm, lowered.shims) == (pytest.approx(-0.26), None)


@EXAMPLES
@given(MOVES, st.sampled_from(SIDES), ROOMS, ROOMS)
def test_steps_come_as_near_as_travel_lets(wanted: float, first: str, here: Room, there: Room) -> None:
    """Each within its room; the target reached, or both bearings at their stops."""
    rooms = {first: here, other(first): there}
    slope = -effect_mm_per_m(first, wanted, 2000.0)
    found = {step.side: step.amount_mm for step in steps(one(), first, (slope, 0.0), rooms, None)}
    amounts = [found.get(first, 0.0), -found.get(other(first), 0.0)]
    assert all(rooms[side].within(amount) == amount for side, amount in found.items())
    most = sum((here.most_mm, -there.least_mm) if wanted > 0 else (here.least_mm, -there.most_mm))
    reached = min(wanted, most) if wanted > 0 else max(wanted, most)
    assert sum(amounts) == pytest.approx(reached, abs=1e-9)


@EXAMPLES
@given(MOVES, st.sampled_from(SIDES), ROOMS, ROOMS)
def test_slopes_of_steps_follow_from_what_is_set(wanted: float, first: str, here: Room, there: Room) -> None:
    """From step to step: the pack where there is one, else the amount."""
    slope = start = -effect_mm_per_m(first, wanted, 2000.0)
    for step in steps(one(), first, (start, 0.0), {first: here, other(first): there}, SHIMS):
        assert step.before_mm_per_m == pytest.approx(slope, abs=1e-12)
        done = step.amount_mm if step.shims is None else step.shims.total_mm
        slope += effect_mm_per_m(step.side, done, 2000.0)
        assert step.after_mm_per_m == pytest.approx(slope, abs=1e-12)


def test_alternatives_of_a_free_roll_are_three() -> None:
    """One bearing raised, which is raising only, and half at each."""
    found = alternatives(one(adjustable="both"), "operator", 0.05, BOTH, raising=True)
    half = (pytest.approx(0.05), pytest.approx(-0.05))
    whole = (pytest.approx(0.1), 0.0)
    assert list(found) == [
        Alternative("one_bearing", whole, True),
        Alternative("raise_only", whole, True),
        Alternative("split", half, True),
    ]


def test_roll_to_be_lowered_cannot_be_levelled_by_raising() -> None:
    """One-sided, and its bearing high: there is no move."""
    _, raised = alternatives(one(), "drive", 0.05, BOTH, raising=True)
    assert raised == Alternative("raise_only", None, False)


def test_alternative_says_whether_travel_allows_it() -> None:
    """Room for half of it only: split about the centre fits, one bearing does not."""
    rooms = dict.fromkeys(SIDES, Room(-0.06, 0.06))
    found = alternatives(one(adjustable="both"), "drive", 0.05, rooms, raising=False)
    assert [(each.way, each.fits) for each in found] == [("one_bearing", False), ("split", True)]


LIMITED = one(
    adjustable="both",
    travel=Travel(drive=BearingTravel(up_mm=1.0, down_mm=0.2, upstream_mm=0.5, downstream_mm=0.0)),
)


def test_room_is_the_travel_as_found() -> None:
    """Opposite ways are negative; what is not stated has no limit."""
    taken = survey((LIMITED,))
    assert room(taken, LIMITED, "drive", "up", "as_found") == Room(-0.2, 1.0)
    assert room(taken, LIMITED, "drive", "downstream", "as_found") == Room(-0.5, 0.0)
    assert room(taken, LIMITED, "operator", "up", "as_found") == Room(-inf, inf)


def test_room_as_left_is_less_what_was_reported() -> None:
    """Raised by 0.6 mm in all: 0.4 mm up and 0.8 mm down are left; beyond the travel nothing is."""
    made = (Adjustment("R2", "drive", up_mm=0.5), Adjustment("R2", "drive", up_mm=0.1, downstream_mm=-0.7))
    taken = replace(survey((LIMITED,)), adjustments=made)
    up, along = (room(taken, LIMITED, "drive", way, "as_left") for way in ("up", "downstream"))
    assert (up.least_mm, up.most_mm) == pytest.approx((-0.8, 0.4))
    assert (along.least_mm, along.most_mm) == pytest.approx((0.0, 0.7))
    assert reported_mm(taken, "R2", "drive", "up") == pytest.approx(0.6)
    assert reported_mm(taken, "R2", "operator", "up") == 0.0


def test_room_as_found_is_the_whole_travel_whatever_was_reported() -> None:
    """What was moved since takes nothing off the room that there was before."""
    made = (Adjustment("R2", "drive", up_mm=0.5, downstream_mm=-0.2),)
    taken = replace(survey((LIMITED,)), adjustments=made)
    assert room(taken, LIMITED, "drive", "up", "as_found") == Room(-0.2, 1.0)
    assert room(taken, LIMITED, "drive", "downstream", "as_found") == Room(-0.5, 0.0)


@pytest.mark.parametrize(("can", "side"), [("drive", "operator"), ("operator", "drive"), ("none", "drive")])
def test_bearing_that_cannot_be_adjusted_has_no_room(can: str, side: str) -> None:
    """Whatever travel says."""
    fixed = one(adjustable=can)
    assert room(survey((fixed,)), fixed, side, "up", "as_found") == Room(0.0, 0.0)


@pytest.mark.parametrize("amount", [-0.5, 0.3, 0.0])
def test_move_that_ends_where_the_travel_ends_is_kept_as_it_is(amount: float) -> None:
    """Both ends count, and what rounding of the arithmetic adds to them; beyond, the end itself is left."""
    travel = Room(-0.5, 0.3)
    off = 0.5 * ROUNDING_MM
    assert travel.within(amount) == amount
    assert [travel.within(-0.5 - off), travel.within(0.3 + off)] == [-0.5 - off, 0.3 + off]
    assert [travel.within(-0.7), travel.within(0.9)] == [-0.5, 0.3]
