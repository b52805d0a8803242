"""What has moved between two moments: as found and as left of one visit, or two visits. Slopes in mm/m.

A roll has moved where the change is larger than its expanded uncertainty U, so that a roll that stands still
is called moved with the stated significance; it has not moved where even change plus U stay within a limit
that matters (|d| + U, JCGM 106:2012, 8.3 turned to a difference); else it cannot be told.
"""

from dataclasses import dataclass
from typing import Literal

from certgen.assessment.assessment import ASPECTS, AspectName
from certgen.assessment.rules import ROUNDING
from certgen.assessment.standing import CommonReference, Moment
from certgen.engine.between import two_sided_p
from certgen.engine.coverage import coverage_factor
from certgen.survey.survey import Coverage, Roll

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


@dataclass(frozen=True)
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
