"""Every roll of a line over several visits: drift between them, steps at them, and when to survey next.

Two visits give one difference, and no rate that could be told from a sudden movement or from its own spread:
no day follows from it. The interval that the plant has set, as the latest survey states it, holds then; with
more visits it bounds what is foretold.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from certgen.assessment.assessment import ASPECTS, AspectName
from certgen.assessment.rules import level_target, parallel_target
from certgen.errors import WrongUsage
from certgen.network.solution import Solution
from certgen.network.uncertainty import expand
from certgen.survey.survey import ROUNDS, Roll, Round, Survey, Visit
from certgen.visits.comparison import distinct
from certgen.visits.drift import Course, Drift, K, drift, reach
from certgen.visits.standing import (
    CommonReference,
    Moment,
    Seen,
    against,
    common_reference,
    difference,
    identities,
)

_DAYS_PER_YEAR = 365.25
_ROUNDING_DAYS = 1e-6  # a year that was made from a day gives that day back
# beyond this no day on which a tolerance would be reached is named
_LONGEST_YEARS = 10.0


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


@dataclass(frozen=True, slots=True)
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


@dataclass(frozen=True, slots=True)
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

    def in_order(self, aspect: AspectName) -> tuple["RollTrend", ...]:
        """Return the rolls read in an aspect: those that drift, those that moved otherwise, then the rest."""
        read = [roll for roll in self.rolls if roll.aspect(aspect).points]

        def place(roll: "RollTrend") -> int:
            key = (roll.name, aspect)
            return 0 if key in self.drifting else 1 if key in self.unsteady else 2

        return tuple(sorted(read, key=place))

    @property
    def tested(self) -> int:
        """How many rates were tested."""
        return sum(roll.aspect(name).drift is not None for roll in self.rolls for name in ASPECTS)


FEWEST_VISITS = 3  # with fewer, a change has no spread of its own to tell a rate from

_Known = Mapping[tuple[str, AspectName], AspectTrend]


def next_survey(rolls: Sequence[RollTrend], outlook_ends: date, latest: Visit) -> NextSurvey:
    """Return the first day on which some roll no longer keeps its tolerance with 95 %, at most that day.

    `rolls` are those of the latest survey, made at the visit `latest`. No later than its interval ends.
    """
    known = {(roll.name, name): roll.aspect(name) for roll in rolls for name in ASPECTS}
    outlooks = {key: one.outlook for key, one in known.items() if one.outlook is not None}
    kept = {key: one.kept_until for key, one in outlooks.items() if one.kept_until is not None}
    ends = {key: until for key, until in kept.items() if not outlooks[key].open_ended}
    foretold = min((*ends.values(), outlook_ends)) if kept else None
    by_plant = latest.interval.after(latest.finished) if latest.interval is not None else None
    day = min((one for one in (foretold, by_plant) if one is not None), default=None)
    return NextSurvey(
        day=day,
        because=tuple(key for key, until in ends.items() if until == day),
        by_interval=day is not None and day == by_plant and foretold != by_plant,
        not_kept=tuple(key for key, one in known.items() if one.kept_now is False),
        not_foretold=tuple(_too_little(known)),
    )


def _too_little(known: _Known) -> Iterator[tuple[str, AspectName]]:
    """Rolls with a tolerance of which the readings say neither where they go nor that they stand outside."""
    for key, one in known.items():
        unsteady = one.drift is not None and one.drift.unsteady
        judged = one.outlook is not None or one.kept_now is False
        if one.points and one.limit_mm_per_m is not None and not judged and not unsteady:
            yield key


def trend(visits: Sequence[Solution], reference: str | None = None) -> Trend:
    """Return the trend of two or more visits to one line, the earliest first.

    Raises WrongUsage where there are fewer, where two are of one visit or they are not in the order of time,
    CannotCompute where they have no reference in common.
    """
    if len(visits) < 2:
        found = ", ".join(f"certificate {one.survey.certificate.number}" for one in visits) or "none"
        raise WrongUsage(f"A trend takes two visits or more (found: {found}).")
    surveys = [visit.survey for visit in visits]
    distinct(surveys)
    names = identities(surveys)
    moments = [
        Moment(visit, which, known) for visit, known in zip(visits, names, strict=True) for which in ROUNDS
    ]
    line = _Line(moments, common_reference(moments[1::2], reference))
    rolls = tuple(line.rolls())
    present = [roll for roll in rolls if roll.name in names[-1].values()]
    return Trend(
        tuple(visits), line.reference, rolls, next_survey(present, line.outlook_ends, surveys[-1].visit)
    )


@dataclass(frozen=True, slots=True)
class _Line:
    """All moments, as found and as left of every visit in turn."""

    moments: Sequence[Moment]
    reference: CommonReference | None

    @property
    def last(self) -> date:
        """The last day of the latest visit."""
        return self.moments[-1].day

    @property
    def outlook_ends(self) -> date:
        """As long after the latest visit as the record reaches back."""
        return _later(self.last, (self.last - self.moments[0].day).days)

    def rolls(self) -> Iterator[RollTrend]:
        """Yield the rolls of the latest survey in their order, then those that are gone."""
        latest: dict[str, tuple[Roll, Moment]] = {}
        for moment in reversed(self.moments):
            for roll in moment.survey.rolls:
                latest.setdefault(moment.names[roll.id], (roll, moment))
        slopes = {aspect: [self._slopes(moment, aspect) for moment in self.moments] for aspect in ASPECTS}
        lost = {aspect: [moment.lost(aspect) for moment in self.moments] for aspect in ASPECTS}
        for name, known in latest.items():
            courses = (
                [_At(found.get(name), name in gone) for found, gone in zip(slopes[a], lost[a], strict=True)]
                for a in ASPECTS
            )
            aspects = (self._aspect(a, known, course) for a, course in zip(ASPECTS, courses, strict=True))
            yield RollTrend(name, known[0], *aspects)

    def _slopes(self, moment: Moment, aspect: AspectName) -> Mapping[str, Seen]:
        """The slopes that were read at a moment, parallel against the common reference as it stood then."""
        read = moment.slopes(aspect, read=True)
        if aspect == "level":
            return read
        if self.reference is None:
            return {}
        roll = self.reference.roll
        holds = roll is None or roll in moment.slopes("parallel")
        standing = against(moment.slopes(aspect), self.reference) if holds else {}
        return {name: standing[name] for name in read if name in standing and name != roll}

    def _aspect(
        self, aspect: AspectName, latest: tuple[Roll, Moment], course: "Sequence[_At]"
    ) -> AspectTrend:
        roll, moment = latest
        read = list(self._read(course, fixed=roll.adjustable == "none"))
        if len(self.moments) < FEWEST_VISITS * len(ROUNDS):
            found = None
        else:
            years = [self._years(day) for day, _, _, _ in read]
            found = drift(Course(years, [one[1] for one in read], [one[2] for one in read])) if read else None
        limit = roll.level_limit if aspect == "level" else roll.parallel_limit
        # the target of the latest survey that has the roll, parallel against the common reference
        if aspect == "level":
            target = level_target(roll)
        else:
            name = self.reference.roll if self.reference is not None else None
            zero = next((one for one in moment.survey.rolls if moment.names[one.id] == name), None)
            own = parallel_target(moment.survey, roll)
            target = own if zero is None else own - parallel_target(moment.survey, zero)
        bound = limit.slope_mm_per_m if limit is not None else None
        latest_visit = moment is self.moments[-1] and bool(read) and read[-1][0] >= self.moments[-2].day
        stands = latest_visit and not course[-1].lost
        predictable = found is not None and stands and not found.unsteady
        outlook = self._outlook(found, target, bound) if found and bound and predictable else None
        points = tuple(_point(day, stretch, one, at) for day, stretch, one, at in read)
        kept = (
            _kept(outlook, points[-1].slope_mm_per_m - target, points[-1].u_mm_per_m, bound)
            if stands
            else None
        )
        return AspectTrend(points, found, outlook, target, bound, kept, self._sudden(found))

    def _sudden(self, found: Drift | None) -> tuple[date, date] | None:
        """The days between which one movement explains what was read, where nothing steady does."""
        if found is None or found.sudden is None or not found.sudden.explains:
            return None
        first, last = (self._day(year) for year in (found.sudden.after, found.sudden.before))
        return None if first is None or last is None else (first, last)

    def _read(self, course: "Sequence[_At]", *, fixed: bool) -> Iterator[tuple[date, int, Seen, Moment]]:
        """Yield what was read, with its day and stretch: a new one begins where a roll was read as left.

        It begins as well where a roll was adjusted and not read after it.

        A roll that cannot be moved, and the reference of a visit, have one slope at it, which stands once.
        """
        stretch, begun = 0, False
        for index, (at, moment) in enumerate(zip(course, self.moments, strict=True)):
            left = moment.round == "as_left"
            stretch += begun and at.lost
            if at.seen is None or (left and _is_same(course[index - 1].seen, at.seen)):
                continue
            stretch += begun and left and not fixed
            begun = True
            yield moment.day, stretch, at.seen, moment

    def _years(self, day: date) -> float:
        return (day - self.moments[0].day).days / _DAYS_PER_YEAR

    def _day(self, year: float | None) -> date | None:
        """The day before that of a year, so that what holds until then holds on it."""
        if year is None:
            return None
        return _later(self.moments[0].day, int(year * _DAYS_PER_YEAR + _ROUNDING_DAYS))

    def _outlook(self, found: Drift, target: float, limit: float) -> Outlook:
        """When the tolerance is reached, if the drift goes on."""
        near = reach(found, target, limit, self._years(self.outlook_ends))
        far = reach(found, target, limit, found.origin + _LONGEST_YEARS)
        kept = near.earliest is None or near.earliest > found.origin
        return Outlook(
            error_mm_per_m=found.level - target,
            kept_until=(self._day(near.earliest) or self.outlook_ends) if kept else None,
            open_ended=near.earliest is None,
            passed=abs(found.level - target) > limit,
            expected=self._day(far.expected) if found.shown else None,
            earliest=self._day(far.earliest) if found.shown else None,
            latest=self._day(far.latest) if found.shown else None,
        )


def _later(day: date, days: int) -> date:
    """So many days later, the last day there is where the calendar ends before."""
    return day + min(timedelta(days=days), date.max - day)


@dataclass(frozen=True, slots=True, eq=False)
class _At:
    """A roll at one moment: what was read of it, and whether it was adjusted without being read after."""

    seen: Seen | None
    lost: bool


def _is_same(found: Seen | None, left: Seen) -> bool:
    """Whether a slope as left is by its definition the one as found."""
    return found is not None and difference(found, left).u == 0.0


def _point(day: date, stretch: int, one: Seen, moment: Moment) -> Point:
    expanded = expand(one.network, one.estimate, one.survey.uncertainty)
    number = one.survey.certificate.number
    return Point(number, moment.round, day, one.estimate.value, expanded.u, expanded.U, stretch)


def _kept(outlook: Outlook | None, error: float, u: float, limit: float | None) -> bool | None:
    """Whether the tolerance is kept with 95 % now: by the outlook or, without one, by the last reading."""
    if limit is None:
        return None
    return abs(error) + K * u <= limit if outlook is None else outlook.kept_until is not None
