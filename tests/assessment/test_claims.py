"""What a result claims beside its verdict: significance of a change, slopes over bearings, shims of a plan.

Expected figures are worked out here from the uncertainties of a single reading.
"""

from math import sqrt

import pytest

from certgen.assessment.assess import assess
from certgen.assessment.assessment import ASPECTS, Assessment
from certgen.moves.after_moves import still_apart
from certgen.moves.plan import plan_of
from certgen.network.solution import solve_survey
from certgen.survey.survey import BearingTravel, Limit, Roll, RollReading, ShimStock, Travel
from tests.simulate.records import levelled, read, roll, setup, survey, tilt

SPAN_M = 2.1
LIMIT = Limit(0.05, "0.05 mm/m")
# one reading: read-out, repeatability and seating; a slope has two of them over the span, a change two slopes
READING = sqrt(0.003**2 + 0.008**2 + 0.010**2)
U_CHANGE = 2.0 * sqrt(4.0) * READING / SPAN_M


def assessed(*readings: RollReading, rolls: tuple[Roll, ...], **changes: object) -> Assessment:
    """Return the assessment of rolls read from one setup, R1 being the reference."""
    seen = setup("A", {}, read("R1", 0.0, 0.0), *readings)
    return assess(solve_survey(survey(rolls, (seen,), **changes)))


@pytest.mark.parametrize(
    ("share_of_U", "significant"), [(0.55, False), (0.99, False), (1.01, True), (-0.6, False), (-1.01, True)]
)
def test_change_is_significant_beyond_its_expanded_uncertainty(share_of_U: float, significant: bool) -> None:  # noqa: N803
    """Not from u on, which is half of it: either way, a change of U says that the roll has turned."""
    moved = read("R2", 0.0, SPAN_M * share_of_U * U_CHANGE, "as_left")
    result = assessed(read("R2", 0.0, 0.0), moved, rolls=(roll("R1"), roll("R2")))
    change = result.rolls[1].parallel.change
    assert change is not None
    assert change.U_mm_per_m == pytest.approx(U_CHANGE, rel=1e-9)
    assert change.slope_mm_per_m == pytest.approx(share_of_U * U_CHANGE, rel=1e-9)
    assert change.significant is significant


@pytest.mark.parametrize("which", ["as_found", "as_left"])
def test_slope_over_bearings_is_over_the_rolls_own(which: str) -> None:
    """Bearings 2700, 2000 and 3100 mm apart: 0.1 mm/m over each of them."""
    rolls = (roll("R1"), roll("R2", bearings_mm=2000.0), roll("R3", bearings_mm=3100.0))
    taken = [read(name, 0.0, 0.1 * SPAN_M, when) for name in ("R2", "R3") for when in ("as_found", "as_left")]
    states = [one.parallel.in_round(which) for one in assessed(*taken, rolls=rolls).rolls[1:]]
    assert [state.over_bearings_mm for state in states if state] == pytest.approx([0.2, 0.31], rel=1e-9)


def test_difference_of_neighbours_is_over_the_bearings_of_the_later_one() -> None:
    """R2 at 0.1 and R3 at 0.25 mm/m: 0.15 mm/m over R3's 3100 mm, which is the roll that would be moved."""
    rolls = (
        roll("R1"),
        roll("R2", bearings_mm=2000.0, adjacent_limit=LIMIT),
        roll("R3", bearings_mm=3100.0, adjacent_limit=LIMIT),
    )
    result = assessed(read("R2", 0.0, 0.1 * SPAN_M), read("R3", 0.0, 0.25 * SPAN_M), rolls=rolls)
    found = [pair.parallel["as_found"].over_bearings_mm for pair in result.adjacent]
    assert found == pytest.approx([0.1 * 2.0, 0.15 * 3.1], rel=1e-9)


def test_neighbours_are_judged_for_level_and_parallel_apart() -> None:
    """Each by its own readings, under its own name."""
    rolls = (roll("R1"), roll("R2", adjacent_limit=LIMIT))
    level = levelled(tilt("R1", 0.0), tilt("R1", 0.0, turned=True), tilt("R2", 0.3))
    (pair,) = assessed(read("R2", 0.0, 0.1 * SPAN_M), rolls=rolls, level=level).adjacent
    found = {name: pair.aspect(name)["as_found"].slope_mm_per_m for name in ASPECTS}
    assert found == {"level": pytest.approx(0.3), "parallel": pytest.approx(0.1)}


def test_pair_behind_a_roll_that_was_not_read_is_looked_at_too() -> None:
    """R2 was not read, so neither of its pairs is judged; R3 and R4 pass by themselves and not together."""
    near = Limit(0.03, "0.03 mm/m")
    rolls = tuple(roll(f"R{n}", 1000.0 * n, adjacent_limit=near) for n in (1, 2, 3, 4))
    found = assessed(read("R3", 0.0, 0.02 * SPAN_M), read("R4", 0.0, -0.02 * SPAN_M), rolls=rolls)
    assert [one.parallel.verdict("as_found") for one in found.rolls[2:]] == ["pass", "pass"]
    assert [(one.first, one.second, one.aspect) for one in still_apart(found)] == [("R3", "R4", "parallel")]


def test_move_that_turns_a_difference_round_brings_no_pair_nearer() -> None:
    """R1 at 0.04 and R2 at 0.08 mm/m: with R2 at its target they are as far apart, the other way."""
    near, wide = Limit(0.03, "0.03 mm/m"), Limit(0.1, "0.1 mm/m")
    rolls = tuple(roll(name, level_limit=wide, adjacent_limit=near) for name in ("R1", "R2"))
    for way in (1.0, -1.0):
        for second, helped_by in ((0.08, ()), (0.0801, ("R2",))):
            level = levelled(tilt("R1", way * 0.04), tilt("R2", way * second))
            (pair,) = still_apart(assess(solve_survey(survey(rolls, level=level, decision="simple"))))
            # moving R1 to its target would take them 0.08 apart
            assert pair.helped_by == helped_by


def test_no_move_is_advised_for_a_pair_in_doubt() -> None:
    """R2 at 0.06 and R3 at -0.06 mm/m pass alone and not together; one of four readings of R2 is wrong."""
    near, wide = Limit(0.08, "0.08 mm/m"), Limit(0.1, "0.1 mm/m")
    rolls = tuple(roll(name, level_limit=wide, adjacent_limit=near) for name in ("R1", "R2", "R3"))

    def advised(*of_second: float) -> tuple[str, ...]:
        level = levelled(tilt("R1", 0.0), *(tilt("R2", one) for one in of_second), tilt("R3", -0.06))
        (pair,) = still_apart(assess(solve_survey(survey(rolls, level=level, decision="simple"))))
        assert (pair.first, pair.second) == ("R2", "R3")
        return pair.helped_by

    assert advised(0.06, 0.06, 0.06, 0.06) == ("R2", "R3")
    assert advised(0.1, 0.1, 0.1, -0.06) == ()


def test_plan_tells_what_it_moves_from_what_it_leaves() -> None:
    """R2 fails and is moved as far as its 0.2 mm of travel let it; R3 passes and stays."""
    slots = Travel(drive=BearingTravel(upstream_mm=0.2))
    rolls = (roll("R1"), roll("R2", travel=slots), roll("R3"))
    plan = plan_of(assessed(read("R2", 0.0, 0.3 * SPAN_M), read("R3", 0.0, 0.0), rolls=rolls))
    assert [one.roll.id for one in plan.moving] == ["R2"]
    assert "R2" not in plan.left_alone
    assert "R3" in plan.left_alone
    ahead = plan.by_roll["R2"].parallel
    assert ahead is not None
    left = 0.3 - 0.2 / 2.7
    assert ahead.predicted.slope_mm_per_m == pytest.approx(left, rel=1e-9)
    assert ahead.predicted.over_bearings_mm == pytest.approx(left * 2.7, rel=1e-9)


def test_shims_are_planned_for_level_alone() -> None:
    """A parallel move slides the bearing; only what is raised stands on shims."""
    rolls = (roll("R1"), roll("R2"))
    result = assessed(
        read("R2", 0.0, -0.2 * SPAN_M),
        rolls=rolls,
        level=levelled(tilt("R1", 0.0), tilt("R1", 0.0, turned=True), tilt("R2", -0.2)),
        shims=ShimStock((0.25, 0.1), 4),
    )
    plan = plan_of(result).rolls[1]
    assert plan.level is not None
    assert plan.parallel is not None
    ((raised, _),) = plan.level.steps
    ((slid, stop),) = plan.parallel.steps
    assert raised.shims is not None
    assert raised.shims.pieces_mm == (0.25, 0.1, 0.1, 0.1)  # 0.55 for 0.54
    assert slid.shims is None
    assert slid.amount_mm == pytest.approx(0.54, rel=1e-9)
    # nothing rounds the slope after a slide to what shims would bring
    assert slid.after_mm_per_m == pytest.approx(0.0, abs=1e-12)
    assert stop.laid is None
