"""The plan of moves: what the last measured state calls for, within travel and shims, and what it leaves."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment, Measured, RollAspect
from certgen.assessment.rules import RULES, SETTLED, Verdict, conformance_probability
from certgen.engine.live import LevelStop, height_stop_mm, level_stop, target_stop_mm
from certgen.engine.moves import Move
from certgen.engine.solution import Solution
from certgen.engine.steps import Alternative, Step, alternatives, steps
from certgen.engine.travel import SIDES, Direction, Room, room
from certgen.survey.survey import ROUNDS, Roll, Round, Side

DIRECTIONS: Mapping[AspectName, Direction] = {"level": "up", "parallel": "downstream"}


@dataclass(frozen=True, slots=True)
class Stop:
    """What the crew watches during a step, in the engine's signs; each None where it is not to be had.

    `target_mm` is the read-out at the far end after the near one was zeroed: of the laser's cross plane
    (parallel, positive downstream) or of a level plane (level read by heights, positive up). `level` is what
    the level shows. `laid` is the same with the shims of the step, which may miss its aim.
    """

    target_mm: float | None = None
    level: LevelStop | None = None
    laid: "Stop | None" = None


@dataclass(frozen=True, slots=True)
class AspectPlan:
    """Level or parallel of one roll: from its last measured `state` to the `predicted` one.

    `predicted` has the uncertainty of the last measurement; that of setting the move is not in it.
    `steps` come with what to watch; none where nothing can be moved. `move` is the move without limits.
    `best` is the verdict on a roll without any error, by that uncertainty.
    """

    which: Round
    state: Measured
    move: Move
    steps: tuple[tuple[Step, Stop], ...]
    rooms: Mapping[Side, Room]
    alternatives: tuple[Alternative, ...]
    predicted: Measured
    best: Verdict

    @property
    def needed(self) -> bool:
        """Whether the roll has to be moved: its verdict is not a pass."""
        return self.state.verdict not in SETTLED

    @property
    def can_pass(self) -> bool:
        """Whether any move can bring a pass: not where U leaves no room within the limit."""
        return self.best in SETTLED

    @property
    def limited(self) -> bool:
        """Whether travel keeps the move from being made at the bearing it was meant for."""
        return self.rooms[self.move.side].within(self.move.amount_mm) != self.move.amount_mm


@dataclass(frozen=True, slots=True)
class RollPlan:
    """The plan of one roll; None where it was not measured or cannot be moved. `setup` read it last."""

    roll: Roll
    level: AspectPlan | None
    parallel: AspectPlan | None
    setup: str | None

    def aspect(self, name: AspectName) -> AspectPlan | None:
        """Return the plan of that aspect."""
        return self.level if name == "level" else self.parallel

    @property
    def needed(self) -> bool:
        """Whether the roll has to be moved at all."""
        return any(plan is not None and plan.needed for plan in (self.level, self.parallel))


def plans(assessment: Assessment) -> tuple[RollPlan, ...]:
    """Return the plan of every roll, in the order of the survey."""
    return tuple(plan_of(assessment, index) for index in range(len(assessment.rolls)))


def not_adjustable(
    assessment: Assessment, found: tuple[RollPlan, ...]
) -> Iterator[tuple[str, tuple[AspectName, ...]]]:
    """Yield the rolls that do not pass, be it with a condition, and cannot be moved, with the aspects."""
    for result, plan in zip(assessment.rolls, found, strict=True):
        short = (name for name in ASPECTS if result.aspect(name).verdict("as_left") not in SETTLED)
        names = tuple(name for name in short if plan.aspect(name) is None)
        if names:
            yield result.id, names


def plan_of(assessment: Assessment, index: int) -> RollPlan:
    """Return the plan of the roll at that place in the survey."""
    result, roll = assessment.rolls[index], assessment.survey.rolls[index]
    level, parallel = (
        _latest(assessment, index, name, result.aspect(name)) for name in ("level", "parallel")
    )
    setup = assessment.solution.last.setups[roll.id, parallel.which].id if parallel is not None else None
    return RollPlan(roll, level, parallel, setup)


def _latest(assessment: Assessment, index: int, name: AspectName, aspect: RollAspect) -> AspectPlan | None:
    which = next((one for one in reversed(ROUNDS) if one in aspect.moves), None)
    return None if which is None else aspect_plan(assessment, index, name, which)


def aspect_plan(assessment: Assessment, index: int, name: AspectName, which: Round) -> AspectPlan | None:
    """Return the plan of one aspect of a roll from the readings of one round; None where there are none."""
    roll, aspect = assessment.survey.rolls[index], assessment.rolls[index].aspect(name)
    state = aspect.in_round(which)
    if state is None or which not in aspect.moves:
        return None
    survey, move = assessment.survey, aspect.moves[which]
    rooms = {side: room(survey, roll, side, DIRECTIONS[name], which) for side in SIDES}
    stock = survey.shims if name == "level" else None
    done = steps(roll, move.side, (state.slope_mm_per_m, state.target_mm_per_m), rooms, stock)
    ways = alternatives(roll, move.side, state.error_mm_per_m, rooms, raising=name == "level")
    return AspectPlan(
        which=which,
        state=state,
        move=move,
        steps=tuple((step, _stop(assessment.solution, name, roll, (which, step))) for step in done),
        rooms=rooms,
        alternatives=tuple(ways),
        predicted=_predicted(assessment, roll, state, done),
        best=RULES[survey.decision](0.0, state.U_mm_per_m, state.limit_mm_per_m),
    )


def _stop(solution: Solution, name: AspectName, roll: Roll, step: tuple[Round, Step]) -> Stop:
    which, moved = step
    if name == "parallel":
        return Stop(target_stop_mm(solution, roll, which, moved))
    aimed = _shown(solution, roll, which, moved)
    if moved.shims is None:
        return aimed
    return replace(
        aimed, laid=_shown(solution, roll, which, replace(moved, aim_mm_per_m=moved.after_mm_per_m))
    )


def _shown(solution: Solution, roll: Roll, which: Round, step: Step) -> Stop:
    """What level or heights show at the slope that a step aims at."""
    level = level_stop(solution, roll, which, step.aim_mm_per_m)
    return Stop(height_stop_mm(solution, roll, which, step), level)


def _predicted(assessment: Assessment, roll: Roll, state: Measured, done: tuple[Step, ...]) -> Measured:
    """The state after the steps, judged as if it had been measured with the same uncertainty."""
    slope = done[-1].after_mm_per_m if done else state.slope_mm_per_m
    error, u, limit = slope - state.target_mm_per_m, state.u_mm_per_m, state.limit_mm_per_m
    return replace(
        state,
        slope_mm_per_m=slope,
        error_mm_per_m=error,
        over_bearings_mm=slope * roll.bearings_mm / 1000.0,
        conformance_probability=conformance_probability(error, u, limit),
        verdict=RULES[assessment.survey.decision](error, state.U_mm_per_m, limit),
    )
