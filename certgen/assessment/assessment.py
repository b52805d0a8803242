"""The assessed survey: frozen records of what every roll showed and what it is worth. Slopes in mm/m."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Literal

from certgen.assessment.doubt import AspectDoubts, aspect_doubts
from certgen.assessment.rules import Verdict
from certgen.engine.solution import Solution
from certgen.survey.survey import Round, Survey

if TYPE_CHECKING:
    from certgen.assessment.plan import LinePlan

AspectName = Literal["parallel", "level"]
ASPECTS: tuple[AspectName, AspectName] = ("level", "parallel")


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
    """

    as_found: Measured | None
    as_left: Measured | None
    adjusted: bool
    change: Change | None

    def in_round(self, which: Round) -> Measured | None:
        """Return the state in a round."""
        return self.as_found if which == "as_found" else self.as_left

    def verdict(self, which: Round) -> Verdict:
        """Return the verdict in a round, `not measured` where there was no reading."""
        state = self.in_round(which)
        return "not measured" if state is None else state.verdict


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
    """One roll against the one before it along the web: the difference `to` minus `from_`."""

    from_: str
    to: str
    level: Mapping[Round, Measured]
    parallel: Mapping[Round, Measured]

    def aspect(self, name: AspectName) -> Mapping[Round, Measured]:
        """Return the aspect of that name."""
        return self.level if name == "level" else self.parallel


@dataclass(frozen=True)
class Assessment:
    """A survey, its solution and the verdicts on it. `overall` is the worst verdict of each round."""

    survey: Survey
    solution: Solution
    coverage_factor: float
    rolls: tuple[RollResult, ...]
    adjacent: tuple[AdjacentResult, ...]
    overall: Mapping[Round, Verdict]

    @cached_property
    def plan(self) -> "LinePlan":
        """The plan of moves, worked out when it is first asked for, and once."""
        from certgen.assessment.plan import line_plan  # which reads these records

        return line_plan(self)

    @cached_property
    def doubts(self) -> Mapping[AspectName, AspectDoubts]:
        """What the proof puts in doubt, by aspect that was surveyed; worked out when first asked for."""
        found = {name: aspect_doubts(self.solution, name) for name in ASPECTS}
        return {name: doubts for name, doubts in found.items() if doubts is not None}

    @property
    def not_measured(self) -> tuple[tuple[str, AspectName], ...]:
        """The rolls and aspects without any reading, of the aspects that were surveyed."""
        surveyed = [
            name for name in ASPECTS if any(roll.aspect(name).as_left is not None for roll in self.rolls)
        ]
        return tuple(
            (roll.id, name) for roll in self.rolls for name in surveyed if roll.aspect(name).as_left is None
        )
