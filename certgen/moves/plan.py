"""The one plan of moves: what the last measured states call for, within travel and shims, and what it leaves.

It is worked out once for an assessment (`plan_of`); certificate, work sheet and JSON print from it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from math import inf
from weakref import WeakKeyDictionary

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment, Measured, Missing
from certgen.assessment.doubt import Hold
from certgen.assessment.rules import RULES, SETTLED, Verdict, conformance_probability
from certgen.moves.steps import (
    SIDES,
    Alternative,
    Direction,
    Move,
    Room,
    Step,
    alternatives,
    movable,
    move_of,
    room,
    steps,
)
from certgen.moves.stop_readings import LevelStop, height_stop_mm, level_stop, target_stop_mm
from certgen.network.equations import Label
from certgen.network.solution import Solution
from certgen.survey.edition import FIRST
from certgen.survey.survey import Roll, Round, Side

DIRECTIONS: Mapping[AspectName, Direction] = {"level": "up", "parallel": "downstream"}


@dataclass(frozen=True, slots=True)
class Stop:
    """What the crew watches during a step, in the engine's signs; each None where it is not to be had.

    `target_mm` is the read-out on the side that is moved after the other was zeroed: of the laser's cross
    plane (parallel, positive downstream) or of a level plane (level read by heights, positive up). It holds
    for a target that was zeroed before the bearing was loosened, and starts at `start_mm`; one that is zeroed
    again after the step shows `again_mm`, for the near end has moved as well. `level` is what the level
    shows. `laid` is the same with the shims of the step, which may miss its aim.
    """

    target_mm: float | None = None
    start_mm: float | None = None
    again_mm: float | None = None
    level: LevelStop | None = None
    laid: "Stop | None" = None


@dataclass(frozen=True, slots=True)
class AspectPlan:
    """Level or parallel of one roll: from its last measured `state` to the `predicted` one.

    `predicted` has the uncertainty of the last measurement; that of setting the move is not in it.
    `move` is the whole move whatever the travel, with the stop reading of the step at its bearing; `steps`
    are what travel and shims allow of it, with what to watch, none where nothing can be moved.
    `best` is the verdict on a roll without any error, by that uncertainty. Where the proof of its readings
    failed, `hold` says why, and the move is held back: there are no steps and no stop reading.
    `unchecked` are the roll's own readings that nothing checks, where the move is large enough to matter.
    """

    which: Round
    state: Measured
    move: Move
    steps: tuple[tuple[Step, Stop], ...]
    rooms: Mapping[Side, Room]
    alternatives: tuple[Alternative, ...]
    predicted: Measured
    best: Verdict
    hold: Hold | None = None
    unchecked: tuple[Label, ...] = ()

    @property
    def needed(self) -> bool:
        """Whether the roll ought to be moved: its verdict is not a pass."""
        return self.state.verdict not in SETTLED

    @property
    def to_move(self) -> bool:
        """Whether the roll is to be moved: it ought to be, and some bearing has room for it.

        So is one whose move is held back, once its readings were settled.
        """
        return self.needed and (bool(self.steps) or self.held)

    @property
    def held(self) -> bool:
        """Whether the move is held back until readings were taken again."""
        return self.hold is not None

    @property
    def read_again(self) -> tuple[Label, ...]:
        """The readings to take again before anything is moved; none where no single one is named."""
        return () if self.hold is None else self.hold.readings

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
    """The plan of one roll; None where it was not measured or cannot be moved. `setup` read it last.

    `found` is what the state as found had called for, by aspect, where it was measured.
    """

    roll: Roll
    level: AspectPlan | None
    parallel: AspectPlan | None
    setup: str | None
    found: Mapping[AspectName, AspectPlan]

    def aspect(self, name: AspectName) -> AspectPlan | None:
        """Return the plan of that aspect."""
        return self.level if name == "level" else self.parallel

    @property
    def to_move(self) -> bool:
        """Whether the roll is to be moved at all."""
        return any(plan is not None and plan.to_move for plan in (self.level, self.parallel))

    @property
    def held(self) -> bool:
        """Whether a move of it that is needed is held back."""
        return any(plan is not None and plan.to_move and plan.held for plan in (self.level, self.parallel))


@dataclass(frozen=True)
class LinePlan:
    """The plan of the whole line: that of every roll, in the order of the survey.

    `not_adjustable` and `no_room` are the rolls that do not pass, be it with a condition, and cannot be
    moved, with the aspects: because no bearing can be adjusted, or because travel leaves nothing of it.
    `unread` are those of which no reading tells how they stand: nobody can say whether they need a move.
    """

    rolls: tuple[RollPlan, ...]
    not_adjustable: Mapping[str, tuple[AspectName, ...]]
    no_room: Mapping[str, tuple[AspectName, ...]]
    unread: tuple[Missing, ...]

    @cached_property
    def by_roll(self) -> Mapping[str, RollPlan]:
        """The plan of every roll by its id."""
        return {plan.roll.id: plan for plan in self.rolls}

    @property
    def moving(self) -> tuple[RollPlan, ...]:
        """The rolls that are to be moved."""
        return tuple(plan for plan in self.rolls if plan.to_move)

    @property
    def left_alone(self) -> tuple[str, ...]:
        """The rolls that need no move."""
        short = {*self.not_adjustable, *self.no_room, *(one.roll for one in self.unread)}
        return tuple(plan.roll.id for plan in self.rolls if not plan.to_move and plan.roll.id not in short)


# one of each assessment, as long as it lives
_PLANS: WeakKeyDictionary[Assessment, LinePlan] = WeakKeyDictionary()


def plan_of(assessment: Assessment) -> LinePlan:
    """Return the plan of the line, worked out when it is first asked for, and once for an assessment."""
    if assessment not in _PLANS:
        _PLANS[assessment] = line_plan(assessment)
    return _PLANS[assessment]


def line_plan(assessment: Assessment) -> LinePlan:
    """Return the plan of the line; `plan_of` keeps it."""
    rolls = tuple(_roll_plan(assessment, index) for index in range(len(assessment.rolls)))
    not_adjustable: dict[str, tuple[AspectName, ...]] = {}
    no_room: dict[str, tuple[AspectName, ...]] = {}
    for result, plan in zip(assessment.rolls, rolls, strict=True):
        short = [name for name in ASPECTS if result.aspect(name).standing_verdict not in SETTLED]
        plans = {name: plan.aspect(name) for name in short}
        if fixed := tuple(name for name, one in plans.items() if one is None):
            not_adjustable[result.id] = fixed
        if stuck := tuple(name for name, one in plans.items() if one is not None and not one.to_move):
            no_room[result.id] = stuck
    return LinePlan(rolls, not_adjustable, no_room, assessment.unread)


def _roll_plan(assessment: Assessment, index: int) -> RollPlan:
    roll = assessment.survey.rolls[index]
    found = {name: _aspect_plan(assessment, index, name, "as_found") for name in ASPECTS}
    last = {name: _last_plan(assessment, index, name, found[name]) for name in ASPECTS}
    parallel = last["parallel"]
    setup = None if parallel is None else assessment.solution.last.setups[roll.id, parallel.which].id
    as_found = {name: plan for name, plan in found.items() if plan is not None}
    return RollPlan(roll, last["level"], parallel, setup, as_found)


def _last_plan(
    assessment: Assessment, index: int, name: AspectName, found: AspectPlan | None
) -> AspectPlan | None:
    """The plan from the reading that still tells how the roll stands; none where none does."""
    latest = assessment.rolls[index].aspect(name).latest
    if latest is None:
        return None
    return _aspect_plan(assessment, index, name, "as_left") if latest == "as_left" else found


def _aspect_plan(assessment: Assessment, index: int, name: AspectName, which: Round) -> AspectPlan | None:
    """The plan of an aspect of a roll from the state measured in a round; None where nothing can be moved."""
    survey, solution, roll = assessment.survey, assessment.solution, assessment.survey.rolls[index]
    state = assessment.rolls[index].aspect(name).in_round(which)
    if state is None or not movable(survey, name, roll):
        return None
    move = move_of(solution, name, roll, which, state.error_mm_per_m)
    rooms = {side: room(survey, roll, side, DIRECTIONS[name], which) for side in SIDES}
    stock = survey.shims if name == "level" else None
    done = steps(roll, move.side, (state.slope_mm_per_m, state.target_mm_per_m), rooms, stock)
    watched = tuple((step, _stop(solution, name, roll, (which, step))) for step in done)
    if name == "parallel":
        move = replace(move, stop_reading_mm=_stop_reading(solution, roll, (which, state), move, watched))
    ways = alternatives(roll, move.side, state.error_mm_per_m, rooms, raising=name == "level")
    full = AspectPlan(
        which=which,
        state=state,
        move=move,
        steps=watched,
        rooms=rooms,
        alternatives=tuple(ways),
        predicted=_predicted(assessment, roll, state, done),
        best=RULES[survey.decision](0.0, state.U_mm_per_m, state.limit_mm_per_m),
    )
    # the plan with what stands against it: a move that is held back is no order any more
    doubts = assessment.doubts[name]
    hold = doubts.hold(roll.id, full.which, full.state)
    if hold is None:
        return replace(full, unchecked=doubts.read_once_more(roll.id, full.which, full.state))
    move = replace(full.move, stop_reading_mm=None)
    return replace(full, hold=hold, move=move, steps=(), alternatives=(), predicted=full.state)


def _stop_reading(
    solution: Solution,
    roll: Roll,
    measured: tuple[Round, Measured],
    move: Move,
    watched: tuple[tuple[Step, Stop], ...],
) -> float | None:
    """The stop reading of the step at the bearing of the move; by the first edition, of the whole move."""
    if solution.survey.edition > FIRST:
        return next((stop.target_mm for step, stop in watched if step.side == move.side), None)
    which, state = measured
    target = state.target_mm_per_m
    whole = Step(move.side, move.amount_mm, state.slope_mm_per_m, target, target)
    return target_stop_mm(solution, roll, which, whole)


def _stop(solution: Solution, name: AspectName, roll: Roll, step: tuple[Round, Step]) -> Stop:
    which, moved = step
    if name == "parallel":
        stop, start, again = (target_stop_mm(solution, roll, which, one) for one in _stages(moved))
        return Stop(stop, start, again)
    aimed = _shown(solution, roll, which, moved)
    if moved.shims is None:
        return aimed
    return replace(
        aimed, laid=_shown(solution, roll, which, replace(moved, aim_mm_per_m=moved.after_mm_per_m))
    )


def _shown(solution: Solution, roll: Roll, which: Round, step: Step) -> Stop:
    """What level or heights show at the slope that a step aims at."""
    level = level_stop(solution, roll, which, step.aim_mm_per_m)
    stop, start, again = (height_stop_mm(solution, roll, which, one) for one in _stages(step))
    return Stop(stop, start, again, level)


def _stages(step: Step) -> tuple[Step, Step, Step]:
    """The step, and the roll at rest before and after it, where a target is zeroed there and then."""
    before, aim = step.before_mm_per_m, step.aim_mm_per_m
    return step, replace(step, aim_mm_per_m=before), replace(step, before_mm_per_m=aim)


def _predicted(assessment: Assessment, roll: Roll, state: Measured, done: tuple[Step, ...]) -> Measured:
    """The state after the steps, judged as if it had been measured with the same uncertainty."""
    slope = done[-1].after_mm_per_m if done else state.slope_mm_per_m
    error, u, limit = slope - state.target_mm_per_m, state.u_mm_per_m, state.limit_mm_per_m
    dof = inf if state.dof is None or assessment.survey.edition == FIRST else state.dof
    return replace(
        state,
        slope_mm_per_m=slope,
        error_mm_per_m=error,
        over_bearings_mm=slope * roll.bearings_mm / 1000.0,
        conformance_probability=conformance_probability(error, u, limit, dof),
        verdict=RULES[assessment.survey.decision](error, state.U_mm_per_m, limit),
    )
