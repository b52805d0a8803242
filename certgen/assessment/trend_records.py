"""A line over several visits, as frozen records. Slopes in mm/m, rates in mm/m per year."""

from dataclasses import dataclass
from datetime import date

from certgen.assessment.assessment import ASPECTS, AspectName
from certgen.assessment.standing import CommonReference
from certgen.engine.drift import Drift
from certgen.engine.solution import Solution
from certgen.survey.survey import Roll, Round, Survey


@dataclass(frozen=True, slots=True)
class Point:
    """A slope at one moment, parallel against the common reference. `stretch` counts the adjustments before.

    `visit` is the number of its certificate.
    """

    visit: str
    round: Round
    day: date
    slope_mm_per_m: float
    u_mm_per_m: float
    U_mm_per_m: float
    stretch: int


@dataclass(frozen=True, slots=True)
class Outlook:
    """What becomes of the error if the drift goes on.

    `kept_until` is the last day on which the tolerance is kept with 95 % (None: not even at the last visit),
    `open_ended` whether that is only where the outlook ends, `passed` whether the error lies outside at the
    last visit already. Where a drift is shown, the tolerance is reached on the day `expected`, with 95 %
    between `earliest` and `latest` (None: later than ten years; the last visit's own day: by then).
    """

    error_mm_per_m: float
    kept_until: date | None
    open_ended: bool
    passed: bool
    expected: date | None
    earliest: date | None
    latest: date | None


@dataclass(frozen=True, slots=True)
class AspectTrend:
    """Level or parallel of one roll over all visits.

    `drift` is None where no rate can be told, as with two visits only; `outlook` also where the roll was not
    read at the latest visit, has no tolerance, or does not move steadily. Target and limit are those of the
    latest survey that has the roll. `kept_now` says whether the tolerance is kept with 95 % as left at the
    latest visit, by the outlook or, without one, by the last reading; None where the roll was not read there
    as it stands, or has no tolerance. `sudden` are the days between which one sudden movement explains all
    that was read.
    """

    points: tuple[Point, ...]
    drift: Drift | None
    outlook: Outlook | None
    target_mm_per_m: float
    limit_mm_per_m: float | None
    kept_now: bool | None = None
    sudden: tuple[date, date] | None = None

    @property
    def error_mm_per_m(self) -> float | None:
        """The error now: by the outlook, else of the last reading; None where that is not how it stands."""
        if self.outlook is not None:
            return self.outlook.error_mm_per_m
        return None if self.kept_now is None else self.points[-1].slope_mm_per_m - self.target_mm_per_m


@dataclass(frozen=True, slots=True)
class RollTrend:
    """One roll under the name it goes by, as the latest survey that has it states it."""

    name: str
    roll: Roll
    level: AspectTrend
    parallel: AspectTrend

    def aspect(self, name: AspectName) -> AspectTrend:
        """Return the aspect of that name."""
        return self.level if name == "level" else self.parallel


@dataclass(frozen=True)
class NextSurvey:
    """When to survey next: on or before `day`, for the rolls in `because` (none: the outlook ends there).

    `day` is None where no roll has a tolerance that is kept and of which anything can be foretold, and the
    plant has set no interval; `by_interval` says that it is this interval that ends on the day. `not_kept`
    are the rolls whose tolerance is not kept with 95 % even at the latest visit, `not_foretold` others of the
    latest survey that were read too seldom to foretell anything.
    """

    day: date | None
    because: tuple[tuple[str, AspectName], ...]
    not_kept: tuple[tuple[str, AspectName], ...]
    not_foretold: tuple[tuple[str, AspectName], ...]
    by_interval: bool = False


@dataclass(frozen=True)
class Trend:
    """Several visits, the earliest first; rolls in the order of the latest survey, then those gone."""

    visits: tuple[Solution, ...]
    reference: CommonReference | None
    rolls: tuple[RollTrend, ...]
    next_survey: NextSurvey

    @property
    def surveys(self) -> tuple[Survey, ...]:
        """The surveys of the visits."""
        return tuple(visit.survey for visit in self.visits)

    @property
    def drifting(self) -> tuple[tuple[str, AspectName], ...]:
        """The rolls and aspects whose drift is shown."""
        return tuple(
            (roll.name, name)
            for name in ASPECTS
            for roll in self.rolls
            if (found := roll.aspect(name).drift) is not None and found.shown
        )

    @property
    def unsteady(self) -> tuple[tuple[str, AspectName], ...]:
        """The rolls and aspects that have moved, and not steadily."""
        return tuple(
            (roll.name, name)
            for name in ASPECTS
            for roll in self.rolls
            if (found := roll.aspect(name).drift) is not None and found.unsteady
        )

    @property
    def tested(self) -> int:
        """How many rates were tested."""
        return sum(roll.aspect(name).drift is not None for roll in self.rolls for name in ASPECTS)
