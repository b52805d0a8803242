"""Neighbours after the moves: pairs that the plan leaves outside tolerance against each other."""

from collections.abc import Iterator, Mapping

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment
from certgen.assessment.plan import RollPlan
from certgen.assessment.rules import RULES, SETTLED


def still_apart(assessment: Assessment, found: tuple[RollPlan, ...]) -> Iterator[tuple[str, str, AspectName]]:
    """Yield the pairs that would not pass once every roll that needs a move has had it, with the aspect.

    Their uncertainty is that of the last measurement, as for the rolls themselves.
    """
    rule = RULES[assessment.survey.decision]
    for name in ASPECTS:
        gained = _gained(found, name)
        for pair in assessment.adjacent:
            state = pair.aspect(name).get("as_left")
            if state is None:
                continue
            error = state.error_mm_per_m + gained.get(pair.to, 0.0) - gained.get(pair.from_, 0.0)
            if rule(error, state.U_mm_per_m, state.limit_mm_per_m) not in SETTLED:
                yield pair.from_, pair.to, name


def _gained(found: tuple[RollPlan, ...], name: AspectName) -> Mapping[str, float]:
    """What the moves add to the slope of each roll that needs one, mm/m."""
    needed = ((plan.roll.id, plan.aspect(name)) for plan in found)
    return {
        roll: plan.predicted.slope_mm_per_m - plan.state.slope_mm_per_m
        for roll, plan in needed
        if plan is not None and plan.needed
    }
