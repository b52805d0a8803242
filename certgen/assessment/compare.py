"""Compare two moments of a line: as found with as left of one visit, or one visit with the next."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from certgen.assessment.assessment import AspectName
from certgen.assessment.comparison import AspectChange, Comparison, Outcome, RollChange, Shift, Stood
from certgen.assessment.identity import identities
from certgen.assessment.standing import CommonReference, Moment, against, common_reference
from certgen.engine.between import Difference, Seen, difference
from certgen.engine.coverage import coverage_factor, expand
from certgen.engine.growth import level_target, parallel_target
from certgen.engine.solution import Solution
from certgen.errors import WrongUsage
from certgen.survey.survey import Roll, Survey


def within(
    solution: Solution, reference: str | None = None, relevant_mm_per_m: float | None = None
) -> Comparison:
    """Compare as found with as left of one visit. Raises CannotCompute where `reference` cannot be one."""
    (names,) = identities([solution.survey])
    before, after = (Moment(solution, which, names) for which in ("as_found", "as_left"))
    return _comparison(before, after, reference, relevant_mm_per_m)


def compare(
    earlier: Solution,
    later: Solution,
    reference: str | None = None,
    relevant_mm_per_m: float | None = None,
) -> Comparison:
    """Compare a visit as it was left with a later one as it was found.

    Raises WrongUsage where both are of one visit, CannotCompute where they have no reference in common.
    """
    distinct((earlier.survey, later.survey))
    names = identities([earlier.survey, later.survey])
    before, after = Moment(earlier, "as_left", names[0]), Moment(later, "as_found", names[1])
    return _comparison(before, after, reference, relevant_mm_per_m)


def rolls_against(comparison: Comparison, reference: CommonReference) -> tuple[RollChange, ...]:
    """Return the rolls of a comparison as they would be against another common reference."""
    pair = _Pair(comparison.before, comparison.after, reference, comparison.relevant_mm_per_m)
    return tuple(pair.rolls())


def distinct(surveys: Sequence[Survey]) -> None:
    """Raise WrongUsage where two surveys hold the readings of one visit, or are not in the order of time."""
    for first, second in pairwise(surveys):
        numbers = [one.certificate.number for one in (first, second)]
        if numbers[0] == numbers[1] or first.sha256 == second.sha256:
            raise WrongUsage(f"Certificate {numbers[0]} is given twice: the readings of one visit are one.")
        _require_neither_replaced(first, second)
        if second.visit.started < first.visit.finished:
            told = f"The visits of certificates {' and '.join(numbers)} overlap, or stand in the wrong order."
            raise WrongUsage(f"{told} Leave one of them out.")


def _require_neither_replaced(first: Survey, second: Survey) -> None:
    """A certificate and the one that replaces it are of one visit."""
    for new, old in ((first, second), (second, first)):
        number = old.certificate.number
        if _names(new.certificate.supersedes, number):
            told = f"Certificate {new.certificate.number} replaces {number}: they are of one visit."
            raise WrongUsage(f"{told} Leave {number} out.")


def _names(supersedes: str | None, number: str) -> bool:
    """Whether a text such as `FC-2026-031, revision 0` names that number."""
    return supersedes is not None and re.match(rf"{re.escape(number)}(?![\w-])", supersedes) is not None


def _comparison(
    before: Moment, after: Moment, wanted: str | None, relevant_mm_per_m: float | None
) -> Comparison:
    reference = common_reference((before, after), wanted)
    pair = _Pair(before, after, reference, relevant_mm_per_m)
    return Comparison(before, after, reference, relevant_mm_per_m, tuple(pair.rolls()))


@dataclass(frozen=True)
class _Pair:
    before: Moment
    after: Moment
    reference: CommonReference | None
    relevant_mm_per_m: float | None

    def rolls(self) -> list[RollChange]:
        """Rolls of the later survey in their order, then those that are gone."""
        level, parallel = self._changes("level"), self._changes("parallel")
        first, second = self._first, self._second
        names = [*second, *(name for name in first if name not in second)]
        return [
            RollChange(name, first.get(name), second.get(name), level[name], parallel[name]) for name in names
        ]

    def _changes(self, aspect: AspectName) -> Mapping[str, AspectChange]:
        reference = self.reference if aspect == "parallel" else None
        slopes = [
            against(moment.slopes(aspect, read=self._one_visit), reference)
            if aspect == "level" or reference is not None
            else {}
            for moment in (self.before, self.after)
        ]
        rolls = {**self._first, **self._second}
        return {name: self._change(aspect, roll, name, slopes) for name, roll in rolls.items()}

    @cached_property
    def _first(self) -> Mapping[str, Roll]:
        return _by_name(self.before)

    @cached_property
    def _second(self) -> Mapping[str, Roll]:
        return _by_name(self.after)

    @property
    def _one_visit(self) -> bool:
        return self.before.solution is self.after.solution

    def _change(
        self, aspect: AspectName, roll: Roll, name: str, slopes: list[dict[str, Seen]]
    ) -> AspectChange:
        before, after = (found.get(name) for found in slopes)
        shift = None
        outcome = self._not_judged(aspect, roll, name, read_twice=bool(before and after))
        if outcome is None and before is not None and after is not None:
            shift = self._shift(aspect, roll, difference(before, after))
            outcome = shift.outcome
        limit = roll.level_limit if aspect == "level" else roll.parallel_limit
        return AspectChange(
            before=_stood(before),
            after=_stood(after),
            shift=shift,
            outcome=outcome or "not measured",
            target_mm_per_m=self._target(aspect, roll, name),
            limit_mm_per_m=limit.slope_mm_per_m if limit is not None else None,
        )

    def _not_judged(self, aspect: AspectName, roll: Roll, name: str, *, read_twice: bool) -> Outcome | None:
        """Why a change is not judged; None where it is."""
        if aspect == "parallel" and self.reference is not None and name == self.reference.roll:
            return "reference"
        if not read_twice:
            return "not measured"
        return "held fixed" if self._one_visit and roll.adjustable == "none" else None

    def _target(self, aspect: AspectName, roll: Roll, name: str) -> float:
        """The target as the latest survey that has the roll gives it, parallel against the reference."""
        if aspect == "level":
            return level_target(roll)
        later = name in self._second
        survey, rolls = (self.after.survey, self._second) if later else (self.before.survey, self._first)
        reference = self.reference.roll if self.reference is not None else None
        zero = 0.0 if reference is None else parallel_target(survey, rolls[reference])
        return parallel_target(survey, roll) - zero

    def _shift(self, aspect: AspectName, roll: Roll, change: Difference) -> Shift:
        limit = roll.level_limit if aspect == "level" else roll.parallel_limit
        relevant = limit.slope_mm_per_m if limit is not None else None
        k = coverage_factor(self.after.survey.uncertainty.coverage, change.dof)
        return Shift(
            value_mm_per_m=change.value,
            u_mm_per_m=change.u,
            U_mm_per_m=k * change.u,
            k=k,
            dof=change.dof,
            p_value=change.p_value,
            relevant_mm_per_m=relevant if self.relevant_mm_per_m is None else self.relevant_mm_per_m,
            bearings_mm=roll.bearings_mm,
        )


def _stood(seen: Seen | None) -> Stood | None:
    if seen is None:
        return None
    expanded = expand(seen.network, seen.estimate, seen.survey.uncertainty)
    return Stood(seen.estimate.value, expanded.U)


def _by_name(moment: Moment) -> dict[str, Roll]:
    return {moment.names[roll.id]: roll for roll in moment.survey.rolls}
