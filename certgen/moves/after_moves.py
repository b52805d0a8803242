"""After the moves: what was reported against what was measured, neighbours, and the laser set up anew.

With its far target read after the near one was zeroed, a roll shows (slope - azimuth) (far - near). A laser
that was set up anew differs in its azimuth alone, so a roll that stayed put shows today what it showed in the
survey plus (old - new azimuth) (far - near). Every stop-at reading changes by the same, zeroed on the same
side, times the ratio of the distances between the targets. Source: plane geometry, small angles; held against
exact rotated planes in the tests.

Predicted as left = as found + effect of the reported moves. The uncertainty of the difference is that of as
left minus as found, in which what both share cancels, and that with which each move was read, where the
adjustment states its `read_to`: a move is the difference of two read-outs, before and after, each off by half
of the smallest step at most, so that u = step/√6 (JCGM 100:2008, F.2.2.1). Where it does not, nothing is
assumed for it, and exact agreement is not to be expected.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import hypot, sqrt
from typing import Literal

from certgen.assessment.assessment import (
    ASPECTS,
    AdjacentResult,
    AspectName,
    Assessment,
    Measured,
    RollAspect,
)
from certgen.assessment.rules import RULES, SETTLED
from certgen.findings import Finding, Place
from certgen.moves.plan import DIRECTIONS, AspectPlan, plan_of
from certgen.moves.steps import ROUNDING_MM, SIDES, effect_mm_per_m, other, reported_mm, stop_reading_mm
from certgen.network.solution import kept
from certgen.survey.survey import Roll, Side, Survey

Agreement = Literal["agrees", "differs"]

# as for verdicts: a difference of exactly U agrees in inches as in millimetres
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Apart:
    """A pair that would not pass after the moves; moving one of `helped_by` to its target brings it nearer.

    These pass by themselves, so the plan does not move them, and they have room left; none where no such
    roll is there or its move would take the pair further apart, or where the difference is in doubt.
    """

    first: str
    second: str
    aspect: AspectName
    helped_by: tuple[str, ...]


def still_apart(assessment: Assessment) -> Iterator[Apart]:
    """Yield the pairs that would not pass once every roll that is to be moved has been.

    Their uncertainty is that of the last measurement, as for the rolls themselves.
    """
    rule, plan = RULES[assessment.survey.decision], plan_of(assessment)
    for name in ASPECTS:
        plans = {roll: one.aspect(name) for roll, one in plan.by_roll.items()}
        for pair in assessment.adjacent:
            state = pair.aspect(name).get(assessment.last_round)
            if state is None:
                continue
            moving = ((plans[pair.to], 1.0), (plans[pair.from_], -1.0))
            gained = sum(sign * _gain(one) for one, sign in moving if one is not None and one.to_move)
            error = state.error_mm_per_m + gained
            if rule(error, state.U_mm_per_m, state.limit_mm_per_m) not in SETTLED:
                sure = not assessment.doubts[name].casts_on_pair(pair, assessment.last_round)
                helped_by = tuple(_helping(pair, plans, error)) if sure else ()
                yield Apart(pair.from_, pair.to, name, helped_by)


def _helping(
    pair: AdjacentResult, plans: dict[str, AspectPlan | None], error_mm_per_m: float
) -> Iterator[str]:
    """The rolls of the pair that stay where they are, and whose move to target would lessen its error."""
    for roll, sign in ((pair.from_, -1.0), (pair.to, 1.0)):
        one = plans[roll]
        if one is None or one.to_move or not one.steps:
            continue
        if abs(error_mm_per_m + sign * _gain(one)) < abs(error_mm_per_m) - ROUNDING_MM:
            yield roll


def _gain(plan: AspectPlan) -> float:
    """What the steps add to the slope of the roll, mm/m."""
    return plan.predicted.slope_mm_per_m - plan.state.slope_mm_per_m


@dataclass(frozen=True, slots=True)
class Witness:
    """A roll that was measured in a setup and stays put.

    `shown_mm` is what its other end shows by the survey once the end on that side was zeroed, mm, positive
    downstream, all readings adjusted together.
    """

    roll: Roll
    shown_mm: Mapping[Side, float]

    @property
    def apart_mm(self) -> float:
        """The distance between the targets of this roll."""
        return _distance(self.roll)

    def factor(self, roll: Roll) -> float:
        """Return how many times the change of this roll's reading a stop-at reading of `roll` takes."""
        return _distance(roll) / self.apart_mm


def witness(assessment: Assessment, setup: str) -> Witness | None:
    """Return the roll to measure first once the laser of that setup was set up anew; None if there is none.

    The reference comes first, then a roll that cannot be moved, then any other that is not to be moved; those
    that the proof puts in doubt come last.
    """
    survey = kept(assessment.survey)
    read = {reading.roll for one in survey.setups if one.id == setup for reading in one.readings}
    stay = [plan.roll for plan in plan_of(assessment).rolls if plan.roll.id in read and not plan.to_move]
    stay = [roll for roll in stay if roll.targets_mm is not None and _slope(assessment, roll) is not None]
    if not stay:
        return None
    best = min(
        stay,
        key=lambda roll: (
            bool(
                assessment.doubts["parallel"].on_roll(
                    roll.id, assessment.last_round, _state(assessment, roll)
                )
            ),
            roll.id != survey.reference.roll,
            roll.adjustable != "none",
        ),
    )
    slope, azimuth = _slope(assessment, best) or 0.0, assessment.solution.azimuth(setup).value
    # nothing is moved, so that what is stopped at is what is read
    shown = {side: stop_reading_mm(best, other(side), slope, slope, azimuth) for side in SIDES}
    return Witness(best, shown)


def _slope(assessment: Assessment, roll: Roll) -> float | None:
    """The parallel slope of the roll as it stands now."""
    state = _state(assessment, roll)
    return None if state is None else state.slope_mm_per_m


def _state(assessment: Assessment, roll: Roll) -> Measured | None:
    return next(one for one in assessment.rolls if one.id == roll.id).parallel.standing


def _distance(roll: Roll) -> float:
    operator, drive = roll.targets_mm or (0.0, 0.0)
    return drive - operator


@dataclass(frozen=True, slots=True)
class AdjustmentCheck:
    """One aspect of one roll: the slope the reported moves predict, the one measured, their difference.

    `reported_mm` are the moves (operator, drive), up for level and downstream for parallel, 0 where none was
    reported. `difference_mm_per_m` is measured minus predicted. `u_moves_mm_per_m` is what the read-out of
    the moves adds to its uncertainty; None where some move does not state how well it was read.
    """

    reported_mm: tuple[float, float]
    predicted_mm_per_m: float
    measured_mm_per_m: float
    difference_mm_per_m: float
    u_mm_per_m: float
    U_mm_per_m: float
    result: Agreement
    u_moves_mm_per_m: float | None = None


def adjustment_checks(assessment: Assessment, index: int) -> Mapping[AspectName, AdjustmentCheck]:
    """Return the checks of one roll with reported moves, by aspect: those that were read in both rounds."""
    survey, roll = assessment.survey, assessment.survey.rolls[index]
    if all(made.roll != roll.id for made in survey.adjustments):
        return {}
    found = {name: _check(survey, roll, name, assessment.rolls[index].aspect(name)) for name in ASPECTS}
    return {name: check for name, check in found.items() if check is not None}


def disagreements(assessment: Assessment) -> Iterator[Finding]:
    """Yield a warning for every roll whose reported moves differ from what was measured."""
    places = assessment.survey.places
    first = {
        made.roll: f"adjustments[{i}]" for i, made in reversed(list(enumerate(assessment.survey.adjustments)))
    }
    for index, result in enumerate(assessment.rolls):
        for name, check in adjustment_checks(assessment, index).items():
            if check.result == "differs":
                size, most = abs(check.difference_mm_per_m), check.U_mm_per_m
                message = f"{result.id} {name}: what was reported differs from what was measured"
                message += f" by {size:.4f} mm/m, and U is {most:.4f} mm/m"
                hint = "Look for a move that was not reported, a wrong sign, or a bearing that slipped back."
                if check.u_moves_mm_per_m is None and any(check.reported_mm):
                    hint += " U leaves out how well the moves were read: state `read_to:` of each."
                where = first[result.id]
                yield Finding("warning", places.get(where, Place(1, 1)), where, message, hint)


def _check(survey: Survey, roll: Roll, name: AspectName, aspect: RollAspect) -> AdjustmentCheck | None:
    before, after, change = aspect.as_found, aspect.as_left, aspect.change
    if before is None or after is None or change is None:
        return None
    operator, drive = (reported_mm(survey, roll.id, side, DIRECTIONS[name]) for side in SIDES)
    effect = sum(
        effect_mm_per_m(side, moved, roll.bearings_mm)
        for side, moved in zip(SIDES, (operator, drive), strict=True)
    )
    # what the read-out of a roll's moves adds; None where one does not state it, or none was made
    up = DIRECTIONS[name] == "up"
    made = [
        one
        for one in survey.adjustments
        if one.roll == roll.id and (one.up_mm if up else one.downstream_mm) is not None
    ]
    read_to = [one.read_to_mm for one in made if one.read_to_mm is not None]
    if not made or len(read_to) < len(made):
        u_moves = None
    else:
        u_moves = 1000.0 / roll.bearings_mm * hypot(*(step / sqrt(6.0) for step in read_to))
    difference, of_moves = change.slope_mm_per_m - effect, u_moves
    u, k = hypot(change.u_mm_per_m, of_moves or 0.0), change.U_mm_per_m / (change.u_mm_per_m or 1.0)
    agrees = abs(difference) <= k * u + _ROUNDING * after.limit_mm_per_m
    return AdjustmentCheck(
        reported_mm=(operator, drive),
        predicted_mm_per_m=before.slope_mm_per_m + effect,
        measured_mm_per_m=after.slope_mm_per_m,
        difference_mm_per_m=difference,
        u_mm_per_m=u,
        U_mm_per_m=k * u,
        result="agrees" if agrees else "differs",
        u_moves_mm_per_m=of_moves,
    )
