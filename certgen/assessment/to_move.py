"""From error slopes to the move of each aspect at one bearing of one roll, whatever its travel."""

from collections.abc import Mapping
from dataclasses import replace

from certgen.assessment.assessment import AspectName, Measured
from certgen.engine.growth import level_target
from certgen.engine.moves import Move, bearing_move_mm, raising_side, split_move_mm, stop_reading_mm
from certgen.engine.solution import Solution
from certgen.engine.steps import other
from certgen.engine.travel import room
from certgen.survey.survey import ROUNDS, Roll, Round, Side


def moves_of(
    solution: Solution, name: AspectName, roll: Roll, states: Mapping[Round, Measured]
) -> Mapping[Round, Move]:
    """Return, for each measured round, the move to the target; none for a roll that cannot be moved."""
    if roll.adjustable == "none" or (name == "parallel" and roll.id == solution.survey.reference.roll):
        return {}
    if name == "level":
        return {which: _move(roll, _raised(roll, state), state) for which, state in states.items()}
    return {which: _parallel_move(solution, roll, which, state) for which, state in states.items()}


def _raised(roll: Roll, state: Measured) -> Side:
    return raising_side(roll, state.error_mm_per_m) or "drive"


def _move(roll: Roll, side: Side, state: Measured) -> Move:
    error = state.error_mm_per_m
    split = split_move_mm(error, roll.bearings_mm) if roll.adjustable == "both" else None
    return Move(side, bearing_move_mm(error, roll.bearings_mm, side), split_mm=split)


def _parallel_move(solution: Solution, roll: Roll, which: Round, state: Measured) -> Move:
    """Add the live reading to stop at, seen from the setup that read the roll last in that round."""
    move = _move(roll, _parallel_side(solution, roll, which, state), state)
    azimuth = solution.azimuth(solution.last.setups[roll.id, which].id).value
    stop = stop_reading_mm(roll, move.side, state.slope_mm_per_m, state.target_mm_per_m, azimuth)
    return replace(move, stop_reading_mm=stop)


def _parallel_side(solution: Solution, roll: Roll, which: Round, state: Measured) -> Side:
    """Where both bearings can move: the one that is raised for level, unless only the other has the room."""
    if roll.adjustable != "both":
        return _raised(roll, state)
    low = _low_side(solution, roll, which)

    def fits(side: Side) -> bool:
        amount = bearing_move_mm(state.error_mm_per_m, roll.bearings_mm, side)
        return room(solution.survey, roll, side, "downstream", which).within(amount) == amount

    return next((side for side in (low, other(low)) if fits(side)), low)


def _low_side(solution: Solution, roll: Roll, which: Round) -> Side:
    """The bearing to raise for level in that round, else in the other; the drive side where none was read."""
    slopes = {} if solution.level is None else solution.level.slopes
    found = next((slopes[roll.id, r] for r in (which, *ROUNDS) if (roll.id, r) in slopes), None)
    return "drive" if found is None else raising_side(roll, found.value - level_target(roll)) or "drive"
