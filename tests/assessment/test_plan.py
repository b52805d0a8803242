"""The plan of moves against exact geometry: do its steps in space, look at the instruments, measure again."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from certgen.assessment.assess import assess
from certgen.assessment.assessment import Assessment
from certgen.moves.plan import RollPlan, plan_of
from certgen.moves.steps import Step
from certgen.network.solution import solve_survey
from certgen.survey.survey import (
    ROUNDS,
    Adjustment,
    BearingTravel,
    HeightReading,
    LevelReadings,
    Limit,
    Reference,
    ShimStock,
    Survey,
    Travel,
)
from tests.assessment.test_moves import DOWNSTREAM, ROD, UP, WITHIN_MM, growing, slopes
from tests.simulate.lines import SEEN, TrueLine, draw
from tests.simulate.records import levelled, read, roll, setup, survey, tilt
from tests.simulate.scene import TrueRoll, Vector

TIGHT = Travel(*[BearingTravel(0.11, 0.12, 0.13, 0.14)] * 2)
FINE = ShimStock((0.02, 0.05, 0.1, 0.2, 0.5), 4)


def planned(seed: int, **changes: object) -> tuple[TrueLine, Assessment]:
    """Return an invented line with growing bearings and `changes` to its rolls, and its assessment."""
    rng = np.random.default_rng(seed)
    line = draw(rng, Reference("R1"))
    records = (replace(one.record, growth=growing(rng), **changes) for one in line.rolls)
    line = replace(
        line, rolls=tuple(replace(one, record=r) for one, r in zip(line.rolls, records, strict=True))
    )
    return line, assess(solve_survey(line.survey(rng)))


def pairs(line: TrueLine, found: Assessment) -> Iterator[tuple[TrueRoll, RollPlan]]:
    """Yield the rolls that can be moved with their plans."""
    both = zip(line.rolls, plan_of(found).rolls, strict=True)
    yield from ((one, plan) for one, plan in both if plan.level is not None)


def after(ends: tuple[Vector, Vector], step: Step, way: Vector) -> tuple[Vector, Vector]:
    """Return the bearing centres after a step as aimed at."""
    by = step.amount_mm * way
    return (ends[0] + by, ends[1]) if step.side == "operator" else (ends[0], ends[1] + by)


def start(one: TrueRoll, which: str) -> tuple[Vector, Vector]:
    """Return the bearing centres as they were measured."""
    return one.axis(which, 0.0), one.axis(which, one.record.bearings_mm)


@pytest.mark.parametrize("travel", [Travel(), TIGHT], ids=["free", "tight"])
@pytest.mark.parametrize("seed", range(3))
def test_level_shows_its_stop_reading_after_every_step(seed: int, travel: Travel) -> None:
    """Taper, sag and the zero error of the level are in it: the exact level reads the same."""
    line, found = planned(seed, travel=travel)
    for one, plan in pairs(line, found):
        ends = start(one, "as_left")
        for step, stop in plan.level.steps:
            ends = after(ends, step, UP)
            moved = replace(one, level={"as_left": slopes(ends)[1]})
            shown = line.level.read(moved, "as_left", stop.level.at_mm)
            assert stop.level.slope_mm_per_m == pytest.approx(shown.slope_mm_per_m, abs=2e-6)
            assert stop.level.divisions == pytest.approx(shown.slope_mm_per_m / 0.05, abs=1e-4)


@pytest.mark.parametrize("travel", [Travel(), TIGHT], ids=["free", "tight"])
@pytest.mark.parametrize("seed", range(3))
def test_laser_shows_its_stop_reading_after_every_step(seed: int, travel: Travel) -> None:
    """Near end zeroed before each step, target carried to the far end, bearing moved, near end zeroed again.

    The reading goes the way of the move, and one that is zeroed again is another.
    """
    line, found = planned(seed, travel=travel)
    for one, plan in pairs(line, found):
        laser = next(each for each in line.lasers if each.name == plan.setup)
        assert one.record.id in SEEN[laser.name]
        across, _ = laser.planes()
        ends = start(one, "as_left")
        for step, stop in plan.parallel.steps:
            near, far = one.record.targets_mm if step.side == "drive" else one.record.targets_mm[::-1]
            zero, before = (at(one, ends, y) @ across for y in (near, far))
            assert stop.start_mm == pytest.approx(before - zero, abs=WITHIN_MM)
            ends = after(ends, step, DOWNSTREAM)
            zero_again, there = (at(one, ends, y) @ across for y in (near, far))
            assert stop.target_mm == pytest.approx(there - zero, abs=WITHIN_MM)
            assert stop.again_mm == pytest.approx(there - zero_again, abs=WITHIN_MM)
            assert (stop.target_mm - stop.start_mm) * step.amount_mm > 0.0
            assert abs(stop.again_mm - stop.target_mm) > 0.01 * abs(step.amount_mm)


def at(one: TrueRoll, ends: tuple[Vector, Vector], along_mm: float) -> Vector:
    """Return the point of the target at a place along the roll."""
    return ends[0] + (ends[1] - ends[0]) * along_mm / one.record.bearings_mm + ROD


@pytest.mark.parametrize("travel", [Travel(), TIGHT], ids=["free", "tight"])
@pytest.mark.parametrize("seed", range(3))
def test_predicted_slope_is_that_of_the_moved_roll(seed: int, travel: Travel) -> None:
    """All steps done, both aspects, the reference roll being the true direction."""
    line, found = planned(seed, travel=travel)
    for one, plan in pairs(line, found):
        along, up = start(one, "as_left"), start(one, "as_left")
        for step, _ in plan.parallel.steps:
            along = after(along, step, DOWNSTREAM)
        for step, _ in plan.level.steps:
            up = after(up, step, UP)
        assert plan.parallel.predicted.slope_mm_per_m == pytest.approx(slopes(along)[0], abs=2e-6)
        assert plan.level.predicted.slope_mm_per_m == pytest.approx(slopes(up)[1], abs=2e-6)


@pytest.mark.parametrize("seed", range(3))
def test_plan_without_limits_ends_on_target(seed: int) -> None:
    """One step at one bearing, no error left, a pass predicted with the U of the measurement."""
    for _, plan in pairs(*planned(seed)):
        for aspect in (plan.level, plan.parallel):
            assert [step.side for step, _ in aspect.steps] == [aspect.move.side]
            assert aspect.predicted.error_mm_per_m == pytest.approx(0.0, abs=1e-12)
            assert (aspect.predicted.verdict, aspect.limited) == ("pass", False)
            assert aspect.predicted.U_mm_per_m == aspect.state.U_mm_per_m


def test_heights_show_their_stop_reading() -> None:
    """A tapered, sagging roll, targets off the middle: the near target was zeroed before it rose as well."""
    record = roll("R2", taper_mm=0.4, targets_mm=(200.0, 2100.0))
    one = TrueRoll(record, {"as_found": 0.0}, {"as_found": 0.21}, sag=0.08)
    heights = HeightReading(
        "R2", "as_found", *(one.top("as_found", y) for y in (200.0, 2100.0)), (200.0, 2100.0), ""
    )
    bend = [tilt("R2", surface(one, y), y) for y in (800.0, 1900.0)]
    taken = survey((roll("R1"), record), level=LevelReadings("level", tuple(bend), (heights,)))
    plan = plan_of(assess(solve_survey(taken))).rolls[1]
    ((_, stop),) = plan.level.steps
    moved = replace(one, level={"as_found": 0.0})
    rise = moved.top("as_found", 2100.0) - one.top("as_found", 200.0)
    assert stop.target_mm == pytest.approx(rise, abs=1e-6)
    before, afterwards = (each.top("as_found", 2100.0) - each.top("as_found", 200.0) for each in (one, moved))
    assert stop.start_mm == pytest.approx(before, abs=1e-6)
    assert stop.again_mm == pytest.approx(afterwards, abs=1e-6)


def surface(one: TrueRoll, y_mm: float) -> float:
    """Return the slope of the top at a place, mm/m."""
    return 1000.0 * (one.top("as_found", y_mm + 0.5) - one.top("as_found", y_mm - 0.5))


def both_ways(travel: Travel, level: float, parallel: float) -> Survey:
    """Return a roll that moves at both bearings, with these slopes as found (mm/m)."""
    rolls = (roll("R1"), roll("R2", adjustable="both", travel=travel))
    seen = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 2.1 * parallel))
    return survey(rolls, (seen,), level=levelled(tilt("R1", 0.0), tilt("R2", level)))


def sides(taken: Survey) -> tuple[list[str], list[str]]:
    """Return the bearings of the steps of R2, level and parallel."""
    plan = plan_of(assess(solve_survey(taken))).rolls[1]
    return tuple([step.side for step, _ in aspect.steps] for aspect in (plan.level, plan.parallel))


@pytest.mark.parametrize(("slope", "side"), [(0.1, "operator"), (-0.1, "drive")])
def test_level_and_parallel_are_moved_at_one_bearing(slope: float, side: str) -> None:
    """The low bearing is raised, and the same one is moved along."""
    assert sides(both_ways(Travel(), slope, 0.2)) == ([side], [side])


def test_parallel_goes_to_the_other_bearing_where_travel_forbids() -> None:
    """The low bearing has no room downstream, the other has room upstream."""
    stuck = Travel(operator=BearingTravel(downstream_mm=0.01))
    assert sides(both_ways(stuck, 0.1, 0.2)) == (["operator"], ["drive"])


def test_rest_goes_to_the_other_bearing_where_neither_has_the_room() -> None:
    """0.54 mm wanted, 0.3 mm each: both move, the low one first."""
    short = Travel(*[BearingTravel(upstream_mm=0.3, downstream_mm=0.3)] * 2)
    assert sides(both_ways(short, 0.1, 0.2)) == (["operator"], ["operator", "drive"])


def test_verdict_after_a_clipped_move_is_predicted() -> None:
    """A one-sided roll with room for a tenth of its move still fails, and how much it leaves is said."""
    rolls = (roll("R1"), roll("R2", travel=Travel(drive=BearingTravel(up_mm=0.027))))
    taken = survey(rolls, level=levelled(tilt("R1", 0.0), tilt("R2", -0.1)))
    level = plan_of(assess(solve_survey(taken))).rolls[1].level
    assert (level.limited, level.needed) == (True, True)
    assert level.predicted.error_mm_per_m == pytest.approx(-0.09)
    assert (level.state.verdict, level.predicted.verdict) == ("fail", "fail")


def test_shims_round_the_predicted_slope() -> None:
    """0.27 mm wanted: 0.2 + 0.05 + 0.02 mm laid."""
    taken = survey((roll("R1"), roll("R2")), level=levelled(tilt("R1", 0.0), tilt("R2", -0.1)))
    ((step, _),) = plan_of(assess(solve_survey(replace(taken, shims=FINE)))).rolls[1].level.steps
    assert step.shims.pieces_mm == (0.2, 0.05, 0.02)
    coarse = plan_of(assess(solve_survey(replace(taken, shims=ShimStock((0.25,), 1))))).rolls[1].level
    assert coarse.predicted.error_mm_per_m == pytest.approx(-0.02 / 2.7)
    assert coarse.predicted.verdict == "pass"


SHORT_OF_IT = ShimStock((0.1,), 1)


def test_level_shows_its_stop_reading_with_the_shims_laid() -> None:
    """0.12 mm wanted, 0.1 mm laid on 1800 mm: the level shows what is predicted, not what was aimed at."""
    record = roll("R2", bearings_mm=1800.0)
    taken = survey((roll("R1"), record), level=levelled(tilt("R1", 0.0), tilt("R2", -0.12 / 1.8)))
    level = plan_of(assess(solve_survey(replace(taken, shims=SHORT_OF_IT)))).rolls[1].level
    ((step, stop),) = level.steps
    assert (step.amount_mm, step.shims.pieces_mm) == (pytest.approx(0.12), (0.1,))
    left = (0.1 - 0.12) / 1.8
    assert stop.laid.level.slope_mm_per_m == pytest.approx(left, abs=1e-9)
    assert stop.level.slope_mm_per_m == pytest.approx(0.0, abs=1e-9)
    assert level.predicted.slope_mm_per_m == pytest.approx(left, abs=1e-9)


@pytest.mark.parametrize("stock", [SHORT_OF_IT, ShimStock((0.25,), 4), ShimStock((0.5,), 1)])
def test_height_shows_its_stop_reading_with_the_shims_laid(stock: ShimStock) -> None:
    """Targets at 200 and 2100 mm, the drive side lifted by what was laid; near end zeroed before."""
    record = roll("R2", targets_mm=(200.0, 2100.0))
    one = TrueRoll(record, {"as_found": 0.0}, {"as_found": -0.21})
    tops = (one.top("as_found", y) for y in (200.0, 2100.0))
    heights = HeightReading("R2", "as_found", *tops, (200.0, 2100.0), "")
    taken = survey((roll("R1"), record), level=LevelReadings("level", (), (heights,)), shims=stock)
    ((step, stop),) = plan_of(assess(solve_survey(taken))).rolls[1].level.steps
    near, far = (one.top("as_found", y) for y in (200.0, 2100.0))
    lifted = far + sum(step.shims.pieces_mm) * 2100.0 / record.bearings_mm
    assert stop.laid.target_mm == pytest.approx(lifted - near, abs=1e-6)


def test_roll_whose_u_is_beyond_its_limit_cannot_pass() -> None:
    """Guarded, no error at all is a fail; by simple acceptance it is a pass."""
    taken = survey((roll("R1"), roll("R2")), level=levelled(tilt("R1", 0.0), tilt("R2", -0.1)))
    tight = replace(taken, rolls=(taken.rolls[0], replace(taken.rolls[1], level_limit=Limit(1e-4, ""))))
    for decision, can in (("guarded", False), ("simple", True)):
        level = plan_of(assess(solve_survey(replace(tight, decision=decision)))).rolls[1].level
        assert level.state.U_mm_per_m > 1e-4
        assert (level.needed, level.can_pass) == (True, can)


def test_travel_of_what_remains_is_less_what_was_reported() -> None:
    """As left, the reported move has used the room up."""
    rolls = (roll("R1"), roll("R2", travel=Travel(drive=BearingTravel(up_mm=0.2))))
    level = levelled(tilt("R1", 0.0), tilt("R2", -0.2), tilt("R2", -0.13, in_round="as_left"))
    taken = replace(survey(rolls, level=level), adjustments=(Adjustment("R2", "drive", up_mm=0.2),))
    assert plan_of(assess(solve_survey(taken))).rolls[1].level.steps == ()


def test_fixed_roll_and_reference_have_no_plan() -> None:
    """R1 is both; it needs nothing."""
    _, found = planned(0)
    plan = plan_of(found).rolls[0]
    assert (plan.level, plan.parallel, plan.setup, plan.to_move) == (None, None, None, False)


def test_plan_is_from_the_last_round_that_was_read() -> None:
    """As left where it was read, else as found."""
    _, found = planned(0)
    assert {plan.level.which for plan in plan_of(found).rolls if plan.level} == {ROUNDS[1]}
    assert plan_of(assess(solve_survey(both_ways(Travel(), 0.1, 0.2)))).rolls[1].parallel.which == ROUNDS[0]


def test_reading_that_is_set_aside_does_not_say_where_to_stop() -> None:
    """The roll was read from B last, but that reading takes no part: the plan works from A."""
    rolls = (roll("R1"), roll("R2"))
    first = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.6))
    later = read("R2", 0.0, 0.9)
    again = setup("B", {}, read("R1", 0.0, 0.3), later)
    aside = replace(again, readings=(again.readings[0], replace(later, exclude="target knocked")))
    setups = [
        plan_of(assess(solve_survey(survey(rolls, (first, last))))).rolls[1].setup for last in (again, aside)
    ]
    assert setups == ["B", "A"]
