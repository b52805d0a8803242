"""Setting a line on two targets, against points that are really turned about a pivot."""

from math import atan2, cos, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.moves.stop_readings import Lever, turn, turns
from tests.simulate.records import EXAMPLES

APART = 2400.0
PIVOTS = {310.0: "before near", 0.0: "at near", -400.0: "between", -2400.0: "at far", -3000.0: "beyond far"}


def turned(lever: Lever, near: float, far: float, angle: float) -> tuple[float, float]:
    """Turn the two targets about the pivot by an angle (rad), exactly; return their readings."""
    c, s = cos(angle), sin(angle)
    targets = ((lever.pivot_to_near_mm, near), (lever.pivot_to_far_mm, far))
    first, second = (s * along + c * aside for along, aside in targets)
    return first, second


@pytest.mark.parametrize(("to_near", "where"), PIVOTS.items())
def test_pivot_is_told_by_the_sign(to_near, where):
    """Before, at, between, at, beyond."""
    assert Lever(to_near, APART).pivot == where


@pytest.mark.parametrize("to_near", PIVOTS)
@pytest.mark.parametrize(("near", "far"), [(0.0, 0.82), (0.1, 0.82), (-0.3, -0.3), (0.0, -0.118 * 25.4)])
def test_ends_read_the_same_at_the_aim(to_near, near, far):
    """Turn the line into the laser's plane, exactly: both ends then read the aim."""
    lever = Lever(to_near, APART)
    found = turned(lever, near, far, -atan2(far - near, APART))
    assert found[1] == pytest.approx(found[0], abs=1e-12)
    assert lever.aim_mm(near, far) == pytest.approx(found[1], abs=5e-6)


def test_aim_is_the_known_figure():
    """Pivot to near 12.5 in, near to far 15.5 in, far +0.118 in: -0.095 in (common practice, no source)."""
    inch = 25.4
    assert round(Lever(12.5 * inch, 15.5 * inch).aim_mm(0.0, 0.118 * inch) / inch, 3) == -0.095


@pytest.mark.parametrize(
    ("to_near", "least", "most"),
    [(310.0, -9.0, 0.0), (0.0, 0.0, 0.0), (-400.0, 0.0, 0.82), (-2400.0, 0.82, 0.82), (-3000.0, 0.82, 9.0)],
)
def test_aim_lies_where_the_explanation_says(to_near, least, most):
    """Past the near reading, at it, between both, at the far one, past the far one."""
    assert least <= Lever(to_near, APART).aim_mm(0.0, 0.82) <= most


@pytest.mark.parametrize("to_near", [310.0, 0.0, -400.0, -3000.0])
@pytest.mark.parametrize("share", [0.3, 0.9, 1.0, 1.2])
def test_near_end_follows_what_the_far_end_reached(to_near, share):
    """A turn of any size, made exactly: the near reading follows from the far one."""
    lever = Lever(to_near, APART)
    near, far = turned(lever, 0.1, 0.82, -share * atan2(0.72, APART))
    assert lever.near_after_mm(0.1, 0.82, far) == pytest.approx(near, abs=5e-6)


def test_aim_stays_until_the_near_end_is_zeroed():
    """A turn that fell short has moved both readings, and not the place where they meet."""
    lever = Lever(310.0, APART)
    near = lever.near_after_mm(0.0, 0.82, 0.05)
    assert lever.aim_mm(near, 0.05) == pytest.approx(lever.aim_mm(0.0, 0.82), abs=1e-12)


def test_pivot_at_the_far_target_tells_nothing_of_the_near_one():
    """No turn changes the far reading."""
    with pytest.raises(ValueError, match="at the pivot"):
        Lever(-APART, APART).near_after_mm(0.0, 0.82, 0.5)


@pytest.mark.parametrize("to_near", PIVOTS)
@pytest.mark.parametrize("accuracy", [0.5, 0.9, 1.0, 1.3])
def test_turns_are_those_of_a_line_really_turned(to_near, accuracy):
    """Simulated: each turn goes its share of the angle about the pivot, then near is zeroed."""
    lever, far = Lever(to_near, APART), 0.82
    for made in turns(lever, 0.82, accuracy, 0.02):
        near, reached = turned(lever, 0.0, far, -accuracy * atan2(far, APART))
        assert made.far_mm == pytest.approx(far, abs=2e-5)
        assert (made.near_mm, made.reached_mm) == pytest.approx((near, reached), abs=2e-5)
        far = reached - near
    assert abs(far) <= 0.02


@EXAMPLES
@given(st.floats(-5000.0, 5000.0), st.floats(0.05, 1.95), st.floats(-5.0, 5.0))
def test_every_turn_leaves_its_share(to_near, accuracy, far):
    """What is left of the difference does not depend on where the pivot is."""
    made = turn(Lever(to_near, APART), far, accuracy)
    assert made.apart_mm == pytest.approx((1.0 - accuracy) * far, abs=1e-9)


@pytest.mark.parametrize(("accuracy", "count"), [(1.0, 1), (0.9, 2), (0.5, 6), (1.5, 6)])
def test_number_of_turns_follows_from_the_share(accuracy, count):
    """0.82 mm to 0.02 mm is a factor of 41: a tenth left twice, a half left six times, short or over."""
    assert len(list(turns(Lever(310.0, APART), 0.82, accuracy, 0.02))) == count


def test_ends_that_agree_need_no_turn():
    """Nothing to do."""
    assert list(turns(Lever(310.0, APART), 0.02, 0.9, 0.02)) == []


@pytest.mark.parametrize("accuracy", [0.0, 2.0, -0.5, 3.0])
def test_turns_that_never_come_nearer_are_refused(accuracy):
    """No way at all, or twice the way and more."""
    with pytest.raises(ValueError, match="never"):
        list(turns(Lever(310.0, APART), 0.82, accuracy, 0.02))
