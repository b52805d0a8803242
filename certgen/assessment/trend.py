"""Follow every roll of a line over several visits: drift between them, steps at them, and what to expect."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from certgen.assessment.assessment import ASPECTS, AspectName
from certgen.assessment.compare import distinct
from certgen.assessment.identity import identities
from certgen.assessment.next_survey import FEWEST_VISITS, next_survey
from certgen.assessment.standing import CommonReference, Moment, against, common_reference
from certgen.assessment.trend_records import AspectTrend, Outlook, Point, RollTrend, Trend
from certgen.engine.between import Seen, difference
from certgen.engine.coverage import expand
from certgen.engine.drift import Course, Drift, K, drift
from certgen.engine.growth import level_target, parallel_target
from certgen.engine.reach import reach
from certgen.engine.solution import Solution
from certgen.errors import WrongUsage
from certgen.survey.survey import ROUNDS, Roll

_DAYS_PER_YEAR = 365.25
_ROUNDING_DAYS = 1e-6  # a year that was made from a day gives that day back
# beyond this no day on which a tolerance would be reached is named
_LONGEST_YEARS = 10.0


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


@dataclass(frozen=True)
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
        standing = against(moment.slopes(aspect), self.reference) if self._holds(moment) else {}
        return {name: standing[name] for name in read if name in standing and name != self.reference.roll}

    def _holds(self, moment: Moment) -> bool:
        roll = self.reference.roll if self.reference is not None else None
        return roll is None or roll in moment.slopes("parallel")

    def _aspect(
        self, aspect: AspectName, latest: tuple[Roll, Moment], course: "Sequence[_At]"
    ) -> AspectTrend:
        roll, moment = latest
        read = list(self._read(course, fixed=roll.adjustable == "none"))
        found = self._drift(read)
        limit = roll.level_limit if aspect == "level" else roll.parallel_limit
        target = self._target(aspect, roll, moment)
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

    def _drift(self, read: list[tuple[date, int, Seen, Moment]]) -> Drift | None:
        if len(self.moments) < FEWEST_VISITS * len(ROUNDS):
            return None
        years = [self._years(day) for day, _, _, _ in read]
        return drift(Course(years, [one[1] for one in read], [one[2] for one in read])) if read else None

    def _years(self, day: date) -> float:
        return (day - self.moments[0].day).days / _DAYS_PER_YEAR

    def _day(self, year: float | None) -> date | None:
        """The day before that of a year, so that what holds until then holds on it."""
        if year is None:
            return None
        return _later(self.moments[0].day, int(year * _DAYS_PER_YEAR + _ROUNDING_DAYS))

    def _target(self, aspect: AspectName, roll: Roll, moment: Moment) -> float:
        """The target of the latest survey that has the roll, parallel against the common reference."""
        if aspect == "level":
            return level_target(roll)
        name = self.reference.roll if self.reference is not None else None
        zero = next((one for one in moment.survey.rolls if moment.names[one.id] == name), None)
        own = parallel_target(moment.survey, roll)
        return own if zero is None else own - parallel_target(moment.survey, zero)

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
