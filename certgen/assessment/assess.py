"""Assess a solved survey: targets, expanded uncertainty, verdicts, moves."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from math import isinf

from certgen.assessment.assessment import (
    ASPECTS,
    AdjacentResult,
    AspectName,
    Assessment,
    Change,
    Measured,
    RollAspect,
    RollResult,
)
from certgen.assessment.rules import RULES, Verdict, conformance_probability, worst
from certgen.engine.coverage import Expanded, coverage_factor, expand
from certgen.engine.estimate import Estimate
from certgen.engine.growth import level_target, parallel_target
from certgen.engine.solution import Solution
from certgen.survey.survey import ROUNDS, Limit, Roll, Round, Survey


def assess(solution: Solution) -> Assessment:
    """Return the verdicts on every roll, every pair of adjacent rolls and the whole line, in both rounds."""
    survey = solution.survey
    judge = _Judge(solution)
    rolls = tuple(_roll(judge, solution, roll) for roll in survey.rolls)
    adjacent = tuple(_adjacent(judge, solution, *pair) for pair in pairwise(survey.rolls))
    overall = {which: worst(list(_verdicts(rolls, adjacent, which))) for which in ROUNDS}
    k = coverage_factor(survey.uncertainty.coverage)
    return Assessment(survey, solution, k, rolls, adjacent, overall)


@dataclass(frozen=True, slots=True)
class _Judge:
    solution: Solution

    @property
    def survey(self) -> Survey:
        return self.solution.survey

    def expanded(self, name: AspectName, estimate: Estimate) -> Expanded:
        aspect = self.solution.aspect(name)
        if aspect is None:
            msg = f"{name} was not surveyed"
            raise ValueError(msg)
        return expand(aspect.network, estimate, self.survey.uncertainty)

    def measured(
        self, name: AspectName, estimate: Estimate, target: float, limit: Limit, over_mm: float
    ) -> Measured:
        """Judge one slope; verdicts come from unrounded values."""
        error, expanded, bound = estimate.value - target, self.expanded(name, estimate), limit.slope_mm_per_m
        return Measured(
            slope_mm_per_m=estimate.value,
            target_mm_per_m=target,
            error_mm_per_m=error,
            u_mm_per_m=expanded.u,
            U_mm_per_m=expanded.U,
            limit_mm_per_m=bound,
            over_bearings_mm=estimate.value * over_mm / 1000.0,
            conformance_probability=conformance_probability(error, expanded.u, bound),
            verdict=RULES[self.survey.decision](error, expanded.U, bound),
            k=expanded.k,
            dof=None if isinf(expanded.dof) else expanded.dof,
        )

    def change(self, name: AspectName, slopes: Mapping[Round, Estimate]) -> Change | None:
        """Return as left minus as found; None where only one of them was read."""
        if len(slopes) < len(ROUNDS):
            return None
        difference = slopes["as_left"] - slopes["as_found"]
        expanded = self.expanded(name, difference)
        significant = abs(difference.value) > expanded.U
        return Change(difference.value, expanded.u, expanded.U, significant)

    def target(self, name: AspectName, roll: Roll) -> float:
        return level_target(roll) if name == "level" else parallel_target(self.survey, roll)


def _roll(judge: _Judge, solution: Solution, roll: Roll) -> RollResult:
    return RollResult(roll.id, *(_aspect(judge, solution, name, roll) for name in ASPECTS))


def _aspect(judge: _Judge, solution: Solution, name: AspectName, roll: Roll) -> RollAspect:
    slopes = _slopes(solution, name, roll)
    found = {which: _judged(judge, name, roll, slope) for which, slope in slopes.items()}
    states = {which: state for which, state in found.items() if state is not None}
    fixed = roll.adjustable == "none" or _is_reference(judge.survey, name, roll)
    adjusted = "as_left" in slopes and not fixed
    return RollAspect(
        as_found=states.get("as_found"),
        as_left=states.get("as_left", states.get("as_found")),
        adjusted=adjusted,
        change=judge.change(name, slopes) if adjusted else None,
    )


def _slopes(solution: Solution, name: AspectName, roll: Roll) -> dict[Round, Estimate]:
    aspect = solution.aspect(name)
    if aspect is None:
        return {}
    return {which: aspect.judged[roll.id, which] for which in ROUNDS if (roll.id, which) in aspect.judged}


def _judged(judge: _Judge, name: AspectName, roll: Roll, slope: Estimate) -> Measured | None:
    limit = roll.level_limit if name == "level" else roll.parallel_limit
    if limit is None:
        return None
    state = judge.measured(name, slope, judge.target(name, roll), limit, roll.bearings_mm)
    return _as_reference(state) if _is_reference(judge.survey, name, roll) else state


def _is_reference(survey: Survey, name: AspectName, roll: Roll) -> bool:
    return name == "parallel" and roll.id == survey.reference.roll


def _as_reference(state: Measured) -> Measured:
    return replace(state, verdict="reference")


def _adjacent(judge: _Judge, solution: Solution, first: Roll, second: Roll) -> AdjacentResult:
    level, parallel = (_differences(judge, solution, name, first, second) for name in ASPECTS)
    return AdjacentResult(first.id, second.id, level, parallel)


def _differences(
    judge: _Judge, solution: Solution, name: AspectName, first: Roll, second: Roll
) -> Mapping[Round, Measured]:
    limit = second.adjacent_limit
    before, after = _standing(solution, name, first), _standing(solution, name, second)
    if limit is None:
        return {}
    target = judge.target(name, second) - judge.target(name, first)
    return {
        which: judge.measured(name, after[which] - before[which], target, limit, second.bearings_mm)
        for which in ROUNDS
        if which in before and which in after
    }


def _standing(solution: Solution, name: AspectName, roll: Roll) -> dict[Round, Estimate]:
    """The slope in each round; a roll that was not read as left still stands as it was found."""
    slopes = _slopes(solution, name, roll)
    if "as_found" in slopes:
        slopes.setdefault("as_left", slopes["as_found"])
    return slopes


def _verdicts(
    rolls: tuple[RollResult, ...], adjacent: tuple[AdjacentResult, ...], which: Round
) -> Iterator[Verdict]:
    for name in ASPECTS:
        yield from (roll.aspect(name).verdict(which) for roll in rolls)
        yield from (pair.aspect(name)[which].verdict for pair in adjacent if which in pair.aspect(name))
