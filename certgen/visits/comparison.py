"""What has moved between two moments: as found and as left of one visit, or two visits. Slopes in mm/m.

A roll has moved where the change is larger than its expanded uncertainty U, so that a roll that stands still
is called moved with the stated significance; it has not moved where even change plus U stay within a limit
that matters (|d| + U, JCGM 106:2012, 8.3 turned to a difference); else it cannot be told.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Literal

from certgen.assessment.assessment import ASPECTS, AspectName
from certgen.assessment.rules import ROUNDING, level_target, parallel_target
from certgen.errors import WrongUsage
from certgen.network.solution import Solution
from certgen.network.uncertainty import coverage_factor, expand
from certgen.survey.survey import Coverage, Roll, Survey
from certgen.visits.standing import (
    CommonReference,
    Difference,
    Moment,
    Seen,
    against,
    common_reference,
    difference,
    identities,
    two_sided_p,
)

Outcome = Literal["moved", "not moved", "cannot be told", "reference", "held fixed", "not measured"]
JUDGED: tuple[Outcome, ...] = ("moved", "not moved", "cannot be told")
Presence = Literal["both", "new", "gone"]


@dataclass(frozen=True, slots=True)
class Shift:
    """A change of slope, later less earlier, with its uncertainty, and what it is at one bearing (mm).

    `relevant_mm_per_m` is the limit that matters (None: none is stated). `drive_mm` is how far the drive-side
    bearing would have moved (up, or downstream) had the other stayed; the operator-side one by the opposite.
    """

    value_mm_per_m: float
    u_mm_per_m: float
    U_mm_per_m: float
    k: float
    dof: float
    p_value: float
    relevant_mm_per_m: float | None
    bearings_mm: float

    @property
    def drive_mm(self) -> float:
        """Move of the drive-side bearing alone, mm: slope times bearing distance. Source: plane geometry."""
        return self.value_mm_per_m * self.bearings_mm / 1000.0

    @property
    def operator_mm(self) -> float:
        """Move of the operator-side bearing alone, mm."""
        return -self.drive_mm + 0.0

    @property
    def outcome(self) -> Outcome:
        """Moved, not moved, or cannot be told; equality counts as within, in inches as in millimetres."""
        size, relevant = abs(self.value_mm_per_m), self.relevant_mm_per_m
        slack = ROUNDING * (relevant or self.U_mm_per_m)
        if size > self.U_mm_per_m + slack:
            return "moved"
        still = relevant is not None and size + self.U_mm_per_m <= relevant + slack
        return "not moved" if still else "cannot be told"


@dataclass(frozen=True, slots=True)
class Stood:
    """The slope of a roll at one moment, parallel against the common reference, and its U."""

    slope_mm_per_m: float
    U_mm_per_m: float


@dataclass(frozen=True, slots=True)
class AspectChange:
    """Level or parallel of one roll at both moments (None: not measured), and the shift between them.

    `target_mm_per_m` and `limit_mm_per_m` (None: no tolerance) are those of the latest survey that has the
    roll, the target against the common reference.
    """

    before: Stood | None
    after: Stood | None
    shift: Shift | None
    outcome: Outcome
    target_mm_per_m: float
    limit_mm_per_m: float | None


@dataclass(frozen=True, slots=True)
class RollChange:
    """One roll. `before` and `after` are what the surveys state of it; None where it is not in one."""

    name: str
    before: Roll | None
    after: Roll | None
    level: AspectChange
    parallel: AspectChange

    def aspect(self, name: AspectName) -> AspectChange:
        """Return the aspect of that name."""
        return self.level if name == "level" else self.parallel

    @property
    def presence(self) -> Presence:
        """Whether the roll is in both surveys."""
        return "gone" if self.after is None else "new" if self.before is None else "both"


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two moments and what has changed from one to the other, rolls in the order of the later survey.

    `relevant` says where the limit that matters comes from: stated in mm/m, or (None) each roll's tolerance.
    """

    before: Moment
    after: Moment
    reference: CommonReference | None
    relevant_mm_per_m: float | None
    rolls: tuple[RollChange, ...]

    @property
    def within_one_visit(self) -> bool:
        """Whether both moments are of one visit."""
        return self.before.solution is self.after.solution

    @property
    def coverage(self) -> Coverage:
        """How U is made from u: as the later survey states it."""
        return self.after.survey.uncertainty.coverage

    @property
    def significance(self) -> float:
        """The probability of calling a roll that stands still moved, at exactly known uncertainties."""
        return significance(self.coverage)

    def count(self, outcome: Outcome) -> int:
        """Return how many judgements have that outcome."""
        return sum(roll.aspect(name).outcome == outcome for roll in self.rolls for name in ASPECTS)

    @property
    def judged(self) -> int:
        """How many changes were judged."""
        return sum(self.count(outcome) for outcome in JUDGED)


def significance(coverage: Coverage) -> float:
    """Return the significance that goes with a coverage: one less the probability that U covers."""
    if coverage.probability is not None:
        return 1.0 - coverage.probability
    return two_sided_p(coverage_factor(coverage), float("inf"))


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
