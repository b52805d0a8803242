"""From error slopes to moves at the bearings of one roll."""

from collections.abc import Mapping
from dataclasses import replace

from certgen.assessment.assessment import AspectName, Measured
from certgen.engine.moves import Move, bearing_move_mm, raising_side, split_move_mm, stop_reading_mm
from certgen.engine.solution import Solution
from certgen.survey.survey import Roll, Round, Setup, Side


def moves_of(
    solution: Solution, name: AspectName, roll: Roll, states: Mapping[Round, Measured]
) -> Mapping[Round, Move]:
    """Return, for each measured round, the move to the target; none for a roll that cannot be moved."""
    if roll.adjustable == "none" or (name == "parallel" and roll.id == solution.survey.reference.roll):
        return {}
    plain = {which: _move(roll, _side(name, roll, state), state) for which, state in states.items()}
    if name == "level":
        return plain
    return {which: _with_stop(solution, roll, which, plain[which], states[which]) for which in plain}


def _side(name: AspectName, roll: Roll, state: Measured) -> Side:
    """Where both bearings can move: the one that is raised for level, the drive side for parallel."""
    if name == "parallel" and roll.adjustable == "both":
        return "drive"
    side = raising_side(roll, state.error_mm_per_m)
    return "drive" if side is None else side


def _move(roll: Roll, side: Side, state: Measured) -> Move:
    error = state.error_mm_per_m
    split = split_move_mm(error, roll.bearings_mm) if roll.adjustable == "both" else None
    return Move(side, bearing_move_mm(error, roll.bearings_mm, side), split_mm=split)


def _with_stop(solution: Solution, roll: Roll, which: Round, move: Move, state: Measured) -> Move:
    """Add the live reading to stop at, seen from the setup that read the roll last in that round."""
    setup = _last_setup(solution, roll, which)
    azimuth = solution.azimuth(setup.id).value
    stop = stop_reading_mm(roll, move.side, state.slope_mm_per_m, state.target_mm_per_m, azimuth)
    return replace(move, stop_reading_mm=stop)


def _last_setup(solution: Solution, roll: Roll, which: Round) -> Setup:
    return next(
        setup
        for setup in reversed(solution.survey.setups)
        if any(reading.roll == roll.id and reading.round == which for reading in setup.readings)
    )
