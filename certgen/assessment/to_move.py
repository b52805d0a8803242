"""From an error slope to the move of an aspect at one bearing of one roll, whatever its travel."""

from certgen.assessment.assessment import AspectName
from certgen.engine.growth import level_target
from certgen.engine.moves import Move, bearing_move_mm, raising_side, split_move_mm
from certgen.engine.solution import Solution
from certgen.engine.steps import other
from certgen.engine.travel import room
from certgen.survey.survey import ROUNDS, Roll, Round, Side, Survey


def movable(survey: Survey, name: AspectName, roll: Roll) -> bool:
    """Return whether an aspect of a roll can be moved: not of a fixed roll, nor the reference downstream."""
    return roll.adjustable != "none" and not (name == "parallel" and roll.id == survey.reference.roll)


def move_of(solution: Solution, name: AspectName, roll: Roll, which: Round, error_mm_per_m: float) -> Move:
    """Return the move from the state measured in a round to the target, for a roll that can be moved."""
    raised = raising_side(roll, error_mm_per_m) or "drive"
    side = raised
    if name == "parallel" and roll.adjustable == "both":
        side = _parallel_side(solution, roll, which, error_mm_per_m)
    split = split_move_mm(error_mm_per_m, roll.bearings_mm) if roll.adjustable == "both" else None
    return Move(side, bearing_move_mm(error_mm_per_m, roll.bearings_mm, side), split_mm=split)


def _parallel_side(solution: Solution, roll: Roll, which: Round, error_mm_per_m: float) -> Side:
    """Where both bearings can move: the one that is raised for level, unless only the other has the room."""
    low = _low_side(solution, roll, which)

    def fits(side: Side) -> bool:
        amount = bearing_move_mm(error_mm_per_m, roll.bearings_mm, side)
        return room(solution.survey, roll, side, "downstream", which).within(amount) == amount

    return next((side for side in (low, other(low)) if fits(side)), low)


def _low_side(solution: Solution, roll: Roll, which: Round) -> Side:
    """The bearing to raise for level in that round, else in the other; the drive side where none was read."""
    slopes = {} if solution.level is None else solution.level.slopes
    found = next((slopes[roll.id, r] for r in (which, *ROUNDS) if (roll.id, r) in slopes), None)
    return "drive" if found is None else raising_side(roll, found.value - level_target(roll)) or "drive"
