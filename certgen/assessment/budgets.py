"""The uncertainty budget of every roll in its latest state."""

from dataclasses import dataclass

from certgen.assessment.assessment import AspectName, Assessment
from certgen.engine.budget import Share, budget, effective_dof
from certgen.engine.coverage import coverage_factor
from certgen.survey.survey import ROUNDS


@dataclass(frozen=True, slots=True)
class RollBudget:
    """What makes up `u` (mm/m) of one roll: shares by falling size, effective degrees of freedom, `k`."""

    roll: str
    u: float
    k: float
    dof: float
    shares: tuple[Share, ...]


def roll_budgets(assessment: Assessment, name: AspectName) -> list[RollBudget]:
    """Return the budgets of all rolls that were read, in web order; the exactly known reference has none."""
    aspect = assessment.solution.aspect(name)
    if aspect is None:
        return []
    latest = {roll: aspect.judged[roll, which] for which in ROUNDS for roll, w in aspect.judged if w == which}
    stated = assessment.survey.uncertainty
    made = {
        roll.id: budget(aspect.network, latest[roll.id], stated)
        for roll in assessment.survey.rolls
        if roll.id in latest
    }
    return [_made(assessment, roll, latest[roll].u, shares) for roll, shares in made.items() if shares]


def _made(assessment: Assessment, roll: str, u: float, shares: tuple[Share, ...]) -> RollBudget:
    dof = effective_dof(shares)
    return RollBudget(roll, u, coverage_factor(assessment.survey.uncertainty.coverage, dof), dof, shares)
