"""The assessed survey: frozen records of what every roll showed and what it is worth. Slopes in mm/m."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from certgen.assessment.doubt import AspectDoubts, aspect_doubts
from certgen.assessment.joint_probability import Passes, passes
from certgen.assessment.rules import Overall, Verdict
from certgen.network.solution import Solution
from certgen.survey.survey import ROUNDS, Round, Survey
from certgen.survey.unread import ASPECTS as ASPECTS
from certgen.survey.unread import AspectName as AspectName
from certgen.survey.unread import Reason


@dataclass(frozen=True, slots=True)
class Measured:
    """One slope with its target, uncertainty, limit and verdict.

    `error_mm_per_m` is slope minus target; U is `k` times u, with k at `dof` effective degrees of freedom
    (None: infinite) where a coverage probability was stated; `over_bearings_mm` is the slope over the bearing
    distance; `conformance_probability` is that of the true error lying within ±limit.
    """

    slope_mm_per_m: float
    target_mm_per_m: float
    error_mm_per_m: float
    u_mm_per_m: float
    U_mm_per_m: float
    limit_mm_per_m: float
    over_bearings_mm: float
    conformance_probability: float
    verdict: Verdict
    k: float = 2.0
    dof: float | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """As left minus as found, with the uncertainty of the difference (what both share cancels).

    It is `significant` where it is larger than its U.
    """

    slope_mm_per_m: float
    u_mm_per_m: float
    U_mm_per_m: float
    significant: bool


@dataclass(frozen=True, slots=True)
class RollAspect:
    """Level or parallel of one roll in both rounds; None where it was not measured.

    `adjusted` says whether the as-left state is a reading of its own; otherwise the as-found state stands.
    `reasons` says of each round without a measurement why there is none.
    """

    as_found: Measured | None
    as_left: Measured | None
    adjusted: bool
    change: Change | None
    reasons: Mapping[Round, Reason] = field(default_factory=dict)

    def in_round(self, which: Round) -> Measured | None:
        """Return the state in a round."""
        return self.as_found if which == "as_found" else self.as_left

    def verdict(self, which: Round) -> Verdict:
        """Return the verdict in a round, `not measured` where there was no reading."""
        state = self.in_round(which)
        return "not measured" if state is None else state.verdict

    @property
    def latest(self) -> Round | None:
        """The round whose reading tells how the roll stands now; None where none does.

        That is as found also where nothing was read as left, but not where the roll was moved since.
        """
        if self.as_left is not None:
            return "as_left" if self.adjusted else "as_found"
        untouched = self.reasons.get("as_left") == "not read as left"
        return "as_found" if self.as_found is not None and untouched else None

    @property
    def standing(self) -> Measured | None:
        """The state by the latest reading that still tells; None where none does."""
        return self.as_left or (self.as_found if self.latest == "as_found" else None)

    @property
    def standing_verdict(self) -> Verdict:
        """The verdict on how the roll stands now, `not measured` where no reading tells."""
        return "not measured" if self.standing is None else self.standing.verdict

    @property
    def recorded(self) -> Measured | None:
        """The last state that was measured, whether or not the roll still stands so."""
        return self.as_left or self.as_found


@dataclass(frozen=True, slots=True)
class RollResult:
    """Both aspects of one roll."""

    id: str
    level: RollAspect
    parallel: RollAspect

    def aspect(self, name: AspectName) -> RollAspect:
        """Return the aspect of that name."""
        return self.level if name == "level" else self.parallel


@dataclass(frozen=True, slots=True)
class AdjacentResult:
    """One roll against the one before it along the web: the difference `to` minus `from_`.

    `judged` are the aspects in which its tolerance holds. A round that an aspect lacks there is not measured,
    and `reasons` says why, in the words of the roll that was not.
    """

    from_: str
    to: str
    level: Mapping[Round, Measured]
    parallel: Mapping[Round, Measured]
    judged: tuple[AspectName, ...] = ()
    reasons: Mapping[tuple[AspectName, Round], Reason] = field(default_factory=dict)

    def aspect(self, name: AspectName) -> Mapping[Round, Measured]:
        """Return the aspect of that name."""
        return self.level if name == "level" else self.parallel


@dataclass(frozen=True, slots=True)
class Missing:
    """A roll that was not measured in an aspect on which it, or a pair that it is of, has a tolerance."""

    roll: str
    aspect: AspectName
    reason: Reason | None


@dataclass(frozen=True, eq=False)
class Assessment:
    """A survey, its solution and the verdicts on it.

    `overall` is the worst verdict of each round, `not shown` where nothing fails and yet something that has a
    tolerance was not measured; `missing` are the rolls of which that is so. `surveyed` are the rounds of
    which there was a survey: without one, its verdict is `not measured` and nothing is missing.
    """

    survey: Survey
    solution: Solution
    coverage_factor: float
    rolls: tuple[RollResult, ...]
    adjacent: tuple[AdjacentResult, ...]
    overall: Mapping[Round, Overall]
    missing: Mapping[Round, tuple[Missing, ...]]
    surveyed: tuple[Round, ...]

    @cached_property
    def passes(self) -> Mapping[Round, Passes | None]:
        """What passes in each round, taken together; worked out when first asked for."""
        return {which: passes(self, which) for which in ROUNDS}

    @cached_property
    def doubts(self) -> Mapping[AspectName, AspectDoubts]:
        """What the proof puts in doubt, by aspect that was surveyed; worked out when first asked for."""
        found = {name: aspect_doubts(self.solution, name) for name in ASPECTS}
        return {name: doubts for name, doubts in found.items() if doubts is not None}

    @property
    def in_doubt(self) -> bool:
        """Whether the proof puts anything in doubt."""
        return any(doubts.any for doubts in self.doubts.values())

    @property
    def one_round(self) -> bool:
        """Whether only one round was surveyed."""
        return len(self.surveyed) == 1

    @property
    def last_round(self) -> Round:
        """The round that says how the line stands now: as left, as found where that was not surveyed."""
        return "as_left" if "as_left" in self.surveyed else "as_found"

    @property
    def unread(self) -> tuple[Missing, ...]:
        """The rolls of which no reading tells how they stand now, with the aspects that have a tolerance."""
        return self.missing[self.last_round]
