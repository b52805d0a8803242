"""Moves and stop readings against exact geometry: move the bearing in space, read again, look."""

from dataclasses import replace

import numpy as np
import pytest

from certgen.assessment.assess import assess
from certgen.assessment.assessment import Assessment
from certgen.moves.plan import plan_of
from certgen.moves.steps import Move, bearing_move_mm, raising_side, split_move_mm, stop_reading_mm
from certgen.network.solution import solve_survey
from certgen.survey.survey import ROUNDS, BearingGrowth, Growth, Reference
from tests.simulate.lines import SEEN, TrueLine, draw
from tests.simulate.records import roll
from tests.simulate.scene import TrueRoll, Vector

DOWNSTREAM, UP = np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
WITHIN_MM = 2e-6
ROD = np.array([37.0, 0.0, 110.0])


def growing(rng: np.random.Generator) -> Growth:
    """Return a growth of both bearings, up and along the machine, up to 0.2 mm each."""
    return Growth(*(BearingGrowth(*rng.uniform(-0.2, 0.2, 2)) for _ in range(2)))


def assessed(seed: int) -> tuple[TrueLine, Assessment]:
    """Return an invented line whose bearings all grow, and its assessment."""
    rng = np.random.default_rng(seed)
    line = draw(rng, Reference("R1"))
    rolls = tuple(replace(one, record=replace(one.record, growth=growing(rng))) for one in line.rolls)
    line = replace(line, rolls=rolls)
    return line, assess(solve_survey(line.survey(rng)))


def moves(result: Assessment, index: int, name: str) -> dict[str, Move]:
    """Return the moves of one roll that the plan holds, by the round they are worked out from."""
    plan = plan_of(result).rolls[index]
    last, found = plan.aspect(name), plan.found.get(name)
    return {one.which: one.move for one in (found, last) if one is not None}


def moved(one: TrueRoll, which: str, side: str, by: Vector) -> tuple[Vector, Vector]:
    """Return both bearing centres after one of them was moved."""
    ends = {"operator": one.axis(which, 0.0), "drive": one.axis(which, one.record.bearings_mm)}
    ends[side] = ends[side] + by
    return ends["operator"], ends["drive"]


def slopes(ends: tuple[Vector, Vector]) -> tuple[float, float]:
    """Return the parallel and the level slope between two bearing centres, mm/m."""
    along, across, up = ends[1] - ends[0]
    return 1000.0 * along / across, 1000.0 * up / across


def grown(one: TrueRoll, ends: tuple[Vector, Vector]) -> tuple[Vector, Vector]:
    """Return both bearing centres when running."""
    growth = one.record.growth
    operator, drive = (
        each.downstream_mm * DOWNSTREAM + each.up_mm * UP for each in (growth.operator, growth.drive)
    )
    return ends[0] + operator, ends[1] + drive


def movable(line: TrueLine) -> tuple[tuple[int, TrueRoll], ...]:
    """Return the rolls that can be moved: R7 at the operator side, R4 at both, others at the drive side."""
    return tuple((i, one) for i, one in enumerate(line.rolls) if one.record.adjustable != "none")


@pytest.mark.parametrize("which", ROUNDS)
@pytest.mark.parametrize("seed", range(3))
def test_parallel_move_makes_the_roll_run_parallel(which, seed):
    """Moved by its amount and grown, every roll runs in the direction of the grown reference roll."""
    line, result = assessed(seed)
    reference = line.rolls[0]
    runs, _ = slopes(grown(reference, moved(reference, which, "drive", 0.0 * UP)))
    for i, one in movable(line):
        move = moves(result, i, "parallel")[which]
        after, _ = slopes(grown(one, moved(one, which, move.side, move.amount_mm * DOWNSTREAM)))
        assert after == pytest.approx(runs, abs=1e-6)


@pytest.mark.parametrize("which", ROUNDS)
@pytest.mark.parametrize("seed", range(3))
def test_level_move_makes_the_roll_run_level(which, seed):
    """Moved by its amount and grown, every roll runs level."""
    line, result = assessed(seed)
    for i, one in movable(line):
        move = moves(result, i, "level")[which]
        _, after = slopes(grown(one, moved(one, which, move.side, move.amount_mm * UP)))
        assert after == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("which", ROUNDS)
@pytest.mark.parametrize("seed", range(3))
def test_stop_reading_is_what_the_laser_shows_on_target(which, seed):
    """Near end zeroed, target carried to the far end, bearing moved: the laser shows the stop reading."""
    line, result = assessed(seed)
    for i, one in movable(line):
        move = moves(result, i, "parallel")[which]
        assert move.stop_reading_mm == pytest.approx(shown(line, one, which, move), abs=WITHIN_MM)


def shown(line: TrueLine, one: TrueRoll, which: str, move: Move) -> float:
    """Return what the last laser setting that read the roll shows at the far end after the move."""
    laser = [each for each in line.lasers if one.record.id in SEEN[each.name]][-1]
    across, _ = laser.planes()
    operator_mm, drive_mm = one.record.targets_mm
    near, far = (operator_mm, drive_mm) if move.side == "drive" else (drive_mm, operator_mm)
    zero = (one.axis(which, near) + ROD - laser.at) @ across
    start, end = moved(one, which, move.side, move.amount_mm * DOWNSTREAM)
    point = start + (end - start) * far / one.record.bearings_mm
    return float((point + ROD - laser.at) @ across - zero)


@pytest.mark.parametrize("seed", range(3))
def test_split_moves_turn_the_roll_about_its_centre(seed):
    """Both halves together bring the roll to its target, and its centre stays where it is."""
    line, result = assessed(seed)
    one, aspect = line.rolls[3], result.rolls[3].parallel
    halves = moves(result, 3, "parallel")["as_found"].split_mm
    ends = [one.axis("as_found", at) + by * DOWNSTREAM for at, by in zip((0.0, 2700.0), halves, strict=True)]
    assert slopes(ends)[0] == pytest.approx(aspect.as_found.target_mm_per_m, abs=1e-6)
    assert sum(halves) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("seed", range(5))
def test_level_move_of_a_free_roll_raises(seed):
    """Where both bearings can move, the one that goes up is chosen: shims are added, not taken out."""
    _, result = assessed(seed)
    assert all(move.amount_mm > 0.0 for move in moves(result, 3, "level").values())


def test_fixed_roll_and_reference_have_no_moves():
    """R1 is both: nothing is asked of it."""
    _, result = assessed(0)
    assert (moves(result, 0, "parallel"), moves(result, 0, "level")) == ({}, {})


def test_move_is_that_of_the_latest_round():
    """As left, where it was read."""
    _, result = assessed(0)
    assert plan_of(result).rolls[1].parallel.move == moves(result, 1, "parallel")["as_left"]


@pytest.mark.parametrize(("side", "amount"), [("drive", -0.27), ("operator", 0.27)])
def test_bearing_move_goes_against_the_error_at_the_drive_side(side, amount):
    """Drive end 0.1 mm/m downstream over 2.7 m: the drive bearing goes upstream, the other downstream."""
    assert bearing_move_mm(0.1, 2700.0, side) == pytest.approx(amount)


def test_split_move_shares_the_error_evenly():
    """Half at each bearing, opposite ways."""
    assert split_move_mm(0.1, 2700.0) == pytest.approx((0.135, -0.135))


@pytest.mark.parametrize(
    ("adjustable", "error", "side"),
    [
        ("none", 0.1, None),
        ("drive", 0.1, "drive"),
        ("operator", -0.1, "operator"),
        ("both", 0.1, "operator"),
        ("both", -0.1, "drive"),
    ],
)
def test_raising_side_is_the_low_bearing_where_both_move(adjustable, error, side):
    """Else it is the one that can be moved, up or down."""
    assert raising_side(roll("R1", adjustable=adjustable), error) == side


def test_stop_reading_needs_target_positions():
    """Without them nobody knows where the read-out stands."""
    with pytest.raises(ValueError, match="no target positions"):
        stop_reading_mm(roll("R1", targets_mm=None), "drive", 0.1, 0.0, 0.0)
