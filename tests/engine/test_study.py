"""The cheapest direction: by hand, against a fine grid with a cost of its own, and for any rolls at all."""

from collections.abc import Iterator
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.reference_study.study import Curve, Stand, _order, best_direction, breakpoints, cost, curve
from tests.simulate.records import EXAMPLES


def stand(name: str, error: float, half: float = 0.05, **changes: float) -> Stand:
    """Return a roll of 2 m between bearings that can be moved as far as it takes."""
    return Stand(name, error, half, 2000.0, **changes)


def fixed(name: str, error: float, half: float = 0.05) -> Stand:
    """Return a roll that cannot be moved."""
    return stand(name, error, half, least_turn_mm_per_m=0.0, most_turn_mm_per_m=0.0)


def plain_rank(stands: list[Stand], direction: float) -> tuple[int, int, float, float]:
    """Return what a direction costs, written out roll by roll; the turn itself comes last."""
    stuck = outside = 0
    total = 0.0
    for each in stands:
        error = each.error_mm_per_m - direction
        allowed = each.half_width_mm_per_m + each.slack_mm_per_m
        if abs(error) <= allowed:
            continue
        outside += 1
        turn = max(each.least_turn_mm_per_m, min(each.most_turn_mm_per_m, -error))
        if abs(error + turn) > allowed:
            stuck += 1
        total += abs(turn) * each.bearings_mm / 1000.0
    return stuck, outside, total, abs(direction)


def no_worse(found: tuple[int, int, float, float], other: tuple[int, int, float, float]) -> bool:
    """Compare in order; totals and turns that differ by rounding are equal."""
    if found[:2] != other[:2]:
        return found[:2] < other[:2]
    if abs(found[2] - other[2]) > 1e-8:
        return found[2] < other[2]
    return found[3] <= other[3] + 1e-9


def grid(stands: list[Stand]) -> np.ndarray:
    """Return directions far beyond all rolls, a thousand to the widest tolerance."""
    errors = [each.error_mm_per_m for each in stands]
    return np.linspace(min(errors) - 0.3, max(errors) + 0.3, 4001)


def test_cost_of_a_direction_is_counted_and_summed() -> None:
    """Three rolls against 0.1: one within, one moved by 0.3 mm/m over 2 m, one that cannot move."""
    line = [stand("R1", 0.12), stand("R2", -0.2), fixed("R3", 0.3)]
    found = cost(line, 0.1)
    assert (found.outside, found.stuck, found.moved) == (("R2", "R3"), ("R3",), ("R2",))
    assert (found.total_move_mm, found.largest_move_mm) == (pytest.approx(0.6), pytest.approx(0.6))


def test_roll_at_its_limit_is_within() -> None:
    """Bands are closed."""
    assert cost([stand("R1", 0.15)], 0.1).outside == ()
    assert cost([stand("R1", 0.1501)], 0.1).outside == ("R1",)


def test_most_rolls_decide() -> None:
    """Two rolls at 0.2 against one at zero: turn just far enough to serve the two."""
    assert best_direction([stand("R1", 0.0), stand("R2", 0.2), stand("R3", 0.2)]) == pytest.approx(0.15)


def test_roll_that_cannot_move_goes_before_many_that_can() -> None:
    """One fixed roll outweighs three: they can be moved to it, it cannot be moved to them."""
    line = [fixed("R1", 0.4), *(stand(f"R{n}", 0.0) for n in (2, 3, 4))]
    assert best_direction(line) == pytest.approx(0.35)
    assert cost(line, 0.35).stuck == ()


def test_short_travel_counts_as_no_travel_where_it_does_not_reach() -> None:
    """A roll at 0.4 that can be turned by -0.1 comes within 0.05 of any direction from 0.25."""
    line = [stand("R1", 0.4, least_turn_mm_per_m=-0.1), fixed("R2", 0.2)]
    assert best_direction(line) == pytest.approx(0.25)
    found = cost(line, 0.25)
    assert (found.stuck, found.outside, found.total_move_mm) == ((), ("R1",), pytest.approx(0.2))
    assert cost(line, 0.2499).stuck == ("R1",)


def test_total_move_decides_between_equals() -> None:
    """Two rolls far apart: serving one leaves the other; the edge towards the other is cheaper."""
    line = [stand("R1", -1.0), stand("R2", 1.0)]
    assert abs(best_direction(line)) == pytest.approx(0.95)
    assert cost(line, best_direction(line)).total_move_mm == pytest.approx(2.0 * 1.95)


def test_smallest_turn_decides_last() -> None:
    """Where everything is within anyway, the reference stays; else it turns as little as serves."""
    assert best_direction([stand("R1", 0.03), stand("R2", -0.03)]) == 0.0
    assert best_direction([stand("R1", 0.07), stand("R2", 0.09)]) == pytest.approx(0.04)


def test_own_limits_are_kept() -> None:
    """A roll with a tight limit pulls harder than one with a wide one."""
    assert best_direction([stand("R1", 0.2, 0.01), stand("R2", 0.0, 0.3)]) == pytest.approx(0.19)


def test_roll_that_can_never_pass_stays_outside_everywhere() -> None:
    """U above the limit: no direction and no move helps; it is moved to its target all the same.

    So of the directions that serve the other roll, the one nearest to it takes the least.
    """
    line = [stand("R1", 0.9, -0.01), stand("R2", 0.1)]
    assert best_direction(line) == pytest.approx(0.15)
    found = cost(line, 0.15)
    assert (found.stuck, found.moved) == (("R1",), ("R1",))
    assert found.total_move_mm == pytest.approx(0.75 * 2.0)


def test_roll_that_its_travel_does_not_bring_within_is_moved_as_far_as_it_goes() -> None:
    """As in the plan of moves: 0.4 off, room for 0.1 mm/m over 2 m."""
    found = cost([stand("R1", 0.4, least_turn_mm_per_m=-0.1)], 0.0)
    assert (found.outside, found.stuck, found.moved) == (("R1",), ("R1",), ("R1",))
    assert found.total_move_mm == pytest.approx(0.2)


def test_curve_is_the_cost_at_every_direction() -> None:
    """The same figures as one by one."""
    line = [stand("R1", -0.1), fixed("R2", 0.2), stand("R3", 0.3, most_turn_mm_per_m=0.1)]
    found = curve(line, grid(line))
    singles = [plain_rank(line, direction) for direction in grid(line)]
    assert found.stuck.tolist() == [each[0] for each in singles]
    assert found.outside.tolist() == [each[1] for each in singles]
    assert found.total_move_mm == pytest.approx([each[2] for each in singles], abs=1e-12)


def along_stretches(line: list[Stand], *shares: float) -> Iterator[Curve]:
    """Yield the cost at each of these shares of the way from every breakpoint to the next."""
    places = breakpoints(line)
    for share in shares:
        yield curve(line, places[:-1] + share * np.diff(places))


def test_total_move_is_straight_between_breakpoints() -> None:
    """The middle of every stretch lies on the line between two points of it."""
    line = [stand("R1", -0.1), fixed("R2", 0.2), stand("R3", 0.35, most_turn_mm_per_m=0.1)]
    quarter, middle, other = (each.total_move_mm for each in along_stretches(line, 0.25, 0.5, 0.75))
    assert middle == pytest.approx((quarter + other) / 2.0, abs=1e-12)


@pytest.mark.parametrize("short", [{"most_turn_mm_per_m": 0.1}, {"least_turn_mm_per_m": -0.1}])
def test_same_rolls_stay_outside_between_breakpoints(short: dict[str, float]) -> None:
    """A roll of short travel gets stuck a half width beyond where its travel takes it, on either side."""
    line = [stand("R1", 0.35, **short)]
    early, late = along_stretches(line, 0.01, 0.99)
    assert early.stuck.tolist() == late.stuck.tolist()
    assert early.outside.tolist() == late.outside.tolist()
    first, *_, last = breakpoints(line)
    beyond = curve(line, np.array([first - 0.1, last + 0.1]))
    assert sorted(beyond.stuck.tolist()) == [0, 1]


TURNS = st.sampled_from([0.0, 0.05, 0.2, np.inf])
ROLLS = st.builds(
    lambda error, half, bearings, least, most: Stand("R", error, half, bearings, -least, most),
    st.floats(-0.5, 0.5),
    st.one_of(st.just(0.05), st.floats(-0.01, 0.15)),
    st.floats(500.0, 5000.0),
    TURNS,
    TURNS,
)


@EXAMPLES
@given(st.lists(ROLLS, min_size=1, max_size=12))
def test_no_direction_of_a_fine_grid_is_cheaper(line: list[Stand]) -> None:
    """Own limits, unmovable rolls, short travel, rolls that can never pass."""
    found = plain_rank(line, best_direction(line))
    assert all(no_worse(found, plain_rank(line, float(direction))) for direction in grid(line))


@EXAMPLES
@given(st.lists(st.floats(-0.5, 0.5), min_size=1, max_size=15))
def test_equal_rolls_are_served_by_the_fullest_window(errors: list[float]) -> None:
    """One limit, all movable: the most rolls that a window of twice the limit holds are within."""
    line = [stand(f"R{n}", error) for n, error in enumerate(errors)]
    fullest = max(sum(low <= error <= low + 0.1 + 1e-12 for error in errors) for low in errors)
    assert len(cost(line, best_direction(line)).outside) == len(errors) - fullest


@EXAMPLES
@given(st.lists(ROLLS, min_size=1, max_size=8), st.floats(-0.3, 0.3))
def test_turning_the_whole_line_turns_the_answer(line: list[Stand], by: float) -> None:
    """Counts and moves of the best direction do not depend on what the directions are measured from."""
    turned = [
        Stand(
            each.roll,
            each.error_mm_per_m + by,
            each.half_width_mm_per_m,
            each.bearings_mm,
            each.least_turn_mm_per_m,
            each.most_turn_mm_per_m,
        )
        for each in line
    ]
    plain, moved = (cost(rolls, best_direction(rolls)) for rolls in (line, turned))
    assert (len(plain.stuck), len(plain.outside)) == (len(moved.stuck), len(moved.outside))
    assert plain.total_move_mm == pytest.approx(moved.total_move_mm, abs=1e-8)


def test_of_two_references_that_cost_the_same_the_smaller_turn_comes_first() -> None:
    """Whichever way it turns; the present one before both."""
    cost = SimpleNamespace(rank=(1, 2, 3))
    named = {
        "present": SimpleNamespace(cost=cost, present=True, direction_mm_per_m=0.0),
        "small": SimpleNamespace(cost=cost, present=False, direction_mm_per_m=0.1),
        "large": SimpleNamespace(cost=cost, present=False, direction_mm_per_m=-0.2),
    }
    order = sorted(["large", "small", "present"], key=lambda name: _order(named[name]))  # type: ignore[arg-type]
    assert order == ["present", "small", "large"]
