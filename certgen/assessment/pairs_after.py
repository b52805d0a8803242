"""Neighbours after the moves: pairs that the plan leaves outside tolerance against each other."""

from collections.abc import Iterator
from dataclasses import dataclass

from certgen.assessment.assessment import ASPECTS, AdjacentResult, AspectName, Assessment
from certgen.assessment.plan import AspectPlan, plan_of
from certgen.assessment.rules import RULES, SETTLED
from certgen.engine.travel import ROUNDING_MM


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
