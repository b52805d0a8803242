"""Assess a solved survey: targets, expanded uncertainty, verdicts, moves."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from math import inf, isinf

from certgen.assessment.assessment import (
    ASPECTS,
    AdjacentResult,
    AspectName,
    Assessment,
    Change,
    Measured,
    Missing,
    RollAspect,
    RollResult,
)
from certgen.assessment.rules import (
    RULES,
    Verdict,
    conformance_probability,
    level_target,
    overall,
    parallel_target,
)
from certgen.network.equations import is_one
from certgen.network.least_squares import Estimate
from certgen.network.solution import Solution
from certgen.network.uncertainty import Expanded, coverage_factor, expand
from certgen.survey.edition import FIRST
from certgen.survey.survey import ROUNDS, Limit, Roll, Round, Survey
from certgen.survey.unread import Reason, Unread, limit_of


def assess(solution: Solution) -> Assessment:
    """Return the verdicts on every roll, every pair of adjacent rolls and the whole line, in both rounds."""
    survey = solution.survey
    judge = _Judge(solution)
    rolls = tuple(
        RollResult(roll.id, *(_aspect(judge, solution, name, roll) for name in ASPECTS))
        for roll in survey.rolls
    )
    adjacent = tuple(_adjacent(judge, *pair) for pair in pairwise(survey.rolls))
    surveyed = tuple(which for which in ROUNDS if judge.unread.surveyed(which))
    missing = {
        which: tuple(_missing(judge, rolls, adjacent, which)) if which in surveyed else () for which in ROUNDS
    }
    return Assessment(
        survey=survey,
        solution=solution,
        coverage_factor=coverage_factor(survey.uncertainty.coverage),
        rolls=rolls,
        adjacent=adjacent,
        overall={
            which: overall(
                list(_verdicts(rolls, adjacent, which)),
                complete=survey.edition == FIRST or not missing[which],
            )
            for which in ROUNDS
        },
        missing=missing,
        surveyed=surveyed,
    )


@dataclass(frozen=True)
class _Judge:
    solution: Solution

    @cached_property
    def unread(self) -> Unread:
        return Unread(self.survey)

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
        dof = inf if self.survey.edition == FIRST else expanded.dof  # the first edition took all for normal
        return Measured(
            slope_mm_per_m=estimate.value,
            target_mm_per_m=target,
            error_mm_per_m=error,
            u_mm_per_m=expanded.u,
            U_mm_per_m=expanded.U,
            limit_mm_per_m=bound,
            over_bearings_mm=estimate.value * over_mm / 1000.0,
            conformance_probability=conformance_probability(error, expanded.u, bound, dof),
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

    def standing(self, name: AspectName, roll: Roll) -> dict[Round, Estimate]:
        """Return the slope in each round in which a reading tells it, be it one of the other round."""
        slopes = _slopes(self.solution, name, roll)
        by = {which: self.unread.stands_by(name, roll, which) for which in ROUNDS}
        return {which: slopes[read] for which, read in by.items() if read is not None}

    def stays(self, name: AspectName, roll: Roll) -> bool:
        """Return whether the roll has one slope in both rounds, so that reading it again changes nothing."""
        aspect = self.solution.aspect(name)
        tied = aspect is not None and is_one(aspect.network.values, roll)
        return tied or self.unread.stays(name, roll)

    def reasons(self, name: AspectName, roll: Roll) -> dict[Round, Reason]:
        """Return why the roll is not measured in a round, for each in which it is not."""
        found = {which: self.unread.reason(name, roll, which) for which in ROUNDS}
        return {which: reason for which, reason in found.items() if reason is not None}

    def target(self, name: AspectName, roll: Roll) -> float:
        return level_target(roll) if name == "level" else parallel_target(self.survey, roll)


def _aspect(judge: _Judge, solution: Solution, name: AspectName, roll: Roll) -> RollAspect:
    slopes = _slopes(solution, name, roll)
    standing = judge.standing(name, roll)
    found = {which: _judged(judge, name, roll, slope) for which, slope in standing.items()}
    states = {which: state for which, state in found.items() if state is not None}
    adjusted = "as_left" in slopes and not judge.stays(name, roll)
    return RollAspect(
        as_found=states.get("as_found"),
        as_left=states.get("as_left"),
        adjusted=adjusted,
        change=judge.change(name, slopes) if adjusted else None,
        reasons=judge.reasons(name, roll),
    )


def _slopes(solution: Solution, name: AspectName, roll: Roll) -> dict[Round, Estimate]:
    """The slope in each round in which the roll was read."""
    aspect = solution.aspect(name)
    if aspect is None:
        return {}
    return {which: aspect.judged[roll.id, which] for which in ROUNDS if (roll.id, which) in aspect.judged}


def _judged(judge: _Judge, name: AspectName, roll: Roll, slope: Estimate) -> Measured | None:
    limit = limit_of(roll, name)
    if limit is None:
        return None
    state = judge.measured(name, slope, judge.target(name, roll), limit, roll.bearings_mm)
    return replace(state, verdict="reference") if _is_reference(judge.survey, name, roll) else state


def _is_reference(survey: Survey, name: AspectName, roll: Roll) -> bool:
    return name == "parallel" and roll.id == survey.reference.roll


def _adjacent(judge: _Judge, first: Roll, second: Roll) -> AdjacentResult:
    level, parallel = (_differences(judge, name, first, second) for name in ASPECTS)
    found = {"level": level, "parallel": parallel}
    if judge.survey.edition == FIRST:
        return AdjacentResult(first.id, second.id, level, parallel, tuple(n for n in ASPECTS if found[n]))
    held = second.adjacent_limit is not None
    judged = tuple(name for name in ASPECTS if held and judge.solution.aspect(name) is not None)
    reasons = {
        (name, which): reason
        for name in judged
        for roll in (first, second)
        for which, reason in judge.reasons(name, roll).items()
    }
    return AdjacentResult(first.id, second.id, level, parallel, judged, reasons)


def _differences(judge: _Judge, name: AspectName, first: Roll, second: Roll) -> Mapping[Round, Measured]:
    limit = second.adjacent_limit
    if limit is None:
        return {}
    before, after = judge.standing(name, first), judge.standing(name, second)
    target = judge.target(name, second) - judge.target(name, first)
    return {
        which: judge.measured(name, after[which] - before[which], target, limit, second.bearings_mm)
        for which in ROUNDS
        if which in before and which in after
    }


def _verdicts(
    rolls: tuple[RollResult, ...], adjacent: tuple[AdjacentResult, ...], which: Round
) -> Iterator[Verdict]:
    for name in ASPECTS:
        yield from (roll.aspect(name).verdict(which) for roll in rolls)
        yield from (pair.aspect(name)[which].verdict for pair in adjacent if which in pair.aspect(name))


def _missing(
    judge: _Judge, rolls: tuple[RollResult, ...], adjacent: tuple[AdjacentResult, ...], which: Round
) -> Iterator[Missing]:
    """Yield the rolls that a tolerance holds for, alone or in a pair, and that were not measured."""
    if judge.survey.edition == FIRST:
        yield from _missing_at_first(rolls) if which == "as_left" else ()
        return
    paired = {(roll, name) for pair in adjacent for name in pair.judged for roll in (pair.from_, pair.to)}
    for roll, result in zip(judge.survey.rolls, rolls, strict=True):
        for name in ASPECTS:
            reason = result.aspect(name).reasons.get(which)
            alone = limit_of(roll, name) is not None and not _is_reference(judge.survey, name, roll)
            if reason is not None and (alone or (roll.id, name) in paired):
                yield Missing(roll.id, name, reason)


def _missing_at_first(rolls: tuple[RollResult, ...]) -> Iterator[Missing]:
    """What the first edition called not measured: no reading at all, of the aspects that were surveyed."""
    surveyed = [name for name in ASPECTS if any(roll.aspect(name).as_left is not None for roll in rolls)]
    for roll in rolls:
        yield from (Missing(roll.id, n, None) for n in surveyed if roll.aspect(n).as_left is None)
