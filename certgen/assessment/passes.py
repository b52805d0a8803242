"""Everything that passes taken together: the probability that all of it conforms.

A risk of 2.3 % for each of many passing results leaves a much larger one that some of them is out of
tolerance (total risk: IUPAC/CITAC Guide 2021, doi 10.1515/pac-2019-0906; a single one: JCGM 106:2012). It is
worked out from the joint covariance of the errors: what rolls share, and what pairs have of their rolls, is
in it. Level and parallel share no error. Where the degrees of freedom are finite, each bound is that of
Student's t for the result alone, and the dependence that of the normal distribution (our own choice).
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from certgen.assessment.rules import PASSING, normal_scores, risk
from certgen.engine.all_within import Outside, Within, any_outside
from certgen.survey.edition import FIRST
from certgen.survey.survey import Round
from certgen.survey.unread import ASPECTS, AspectName, Unread

if TYPE_CHECKING:
    from certgen.assessment.assessment import Assessment, Measured

_Sum = tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True)
class Passes:
    """The results of a round that pass, be it with a condition: of rolls and of pairs, level and parallel.

    `any_outside` is the probability that at least one of them is out of tolerance, known to `accuracy`
    (three sigma); `largest_risk` that of the worst one alone, which it is never below.
    """

    count: int
    any_outside: float
    accuracy: float
    largest_risk: float

    @property
    def all_conform_probability(self) -> float:
        """The probability that all of them conform."""
        return 1.0 - self.any_outside


def passes(assessment: "Assessment", which: Round) -> Passes | None:
    """Return what passes in a round, taken together; None where nothing does."""
    found = {name: list(_passing(assessment, name, which)) for name in ASPECTS}
    states = [state for judged in found.values() for _, state in judged]
    if not states:
        return None
    first = assessment.survey.edition == FIRST
    risks = (risk(*_of(state), *_dof(state, first)) for state in states)
    joint = [_together(assessment, name, which, judged) for name, judged in found.items() if judged]
    conform = 1.0
    outside = 0.0
    for one in joint:  # summed so that small risks keep their digits
        outside += conform * one.risk
        conform *= 1.0 - one.risk
    return Passes(len(states), outside, sum(one.error for one in joint), max(risks))


def _passing(assessment: "Assessment", name: AspectName, which: Round) -> Iterator[tuple[_Sum, "Measured"]]:
    """The passing states of an aspect, each with the rolls whose slopes it is the sum of."""
    for roll in assessment.rolls:
        state = roll.aspect(name).in_round(which)
        if state is not None and state.verdict in PASSING:
            yield ((roll.id, 1.0),), state
    for pair in assessment.adjacent:
        state = pair.aspect(name).get(which)
        if state is not None and state.verdict in PASSING:
            yield ((pair.to, 1.0), (pair.from_, -1.0)), state


def _together(
    assessment: "Assessment", name: AspectName, which: Round, judged: list[tuple[_Sum, "Measured"]]
) -> Outside:
    aspect, unread = assessment.solution.aspect(name), Unread(assessment.survey)
    if aspect is None:
        return Outside(0.0, 0.0)
    rolls = {roll.id: roll for roll in assessment.survey.rolls}
    named = dict.fromkeys(roll for parts, _ in judged for roll, _ in parts)
    order = {roll: index for index, roll in enumerate(id_ for id_ in rolls if id_ in named)}
    stands = ((roll, unread.stands_by(name, rolls[roll], which)) for roll in order)
    slopes = [aspect.judged[roll, read] for roll, read in stands if read is not None]
    first = assessment.survey.edition == FIRST
    bounds = [
        Within(
            tuple((order[roll], sign) for roll, sign in parts),
            *normal_scores(*_of(state), *_dof(state, first)),
        )
        for parts, state in judged
    ]
    return any_outside(slopes, bounds)


def _of(state: "Measured") -> tuple[float, float, float]:
    return state.error_mm_per_m, state.u_mm_per_m, state.limit_mm_per_m


def _dof(state: "Measured", first: bool) -> tuple[float, ...]:
    """The degrees of freedom where they are finite; the first edition took every error for normal."""
    return () if state.dof is None or first else (state.dof,)
