"""What a reader must know before believing a comparison: what differs beside the slopes, the reference."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from statistics import median

from certgen.assessment.assessment import ASPECTS, AspectName
from certgen.network.quality import LOW_P
from certgen.network.solution import Solution
from certgen.survey.survey import Survey
from certgen.visits.comparison import JUDGED, Comparison, RollChange, rolls_against
from certgen.visits.standing import CommonReference

# Dimensions that differ by less are the same, written in another unit.
_SAME_MM = 0.01
# Visits whose temperatures differ by less count as alike (customary, no source).
_ALIKE_K = 5.0
# Beyond so many rolls it is not tried which other reference would explain more.
_MOST_ROLLS = 200
_FEWEST_ROLLS = 3


@dataclass(frozen=True, slots=True)
class Resized:
    """A dimension of a roll that two surveys state differently, mm.

    A station or height counts only where it differs by more than the shift common to all rolls.
    """

    roll: str
    dimension: str
    before_mm: float
    after_mm: float


@dataclass(frozen=True, slots=True)
class OtherReference:
    """A roll against which fewer rolls would have moved: `moved` of them, not `present`."""

    roll: str
    moved: int
    present: int


@dataclass(frozen=True, slots=True)
class Scattered:
    """A network whose residuals are larger than the stated uncertainties explain, with its p-value."""

    certificate: str
    aspect: AspectName
    p_value: float


def resized(comparison: Comparison) -> tuple[Resized, ...]:
    """Return every dimension that has changed, in the order of the rolls."""
    both = [roll for roll in comparison.rolls if roll.presence == "both"]
    found = (
        one
        for key in ("bearings", "face", "diameter", "taper")
        for one in _differing(both, key, shifted=False)
    )
    placed = (one for key in ("station", "height") for one in _differing(both, key, shifted=True))
    order = {roll.name: index for index, roll in enumerate(both)}
    return tuple(sorted((*found, *placed), key=lambda one: order[one.roll]))


def _differing(rolls: list[RollChange], key: str, *, shifted: bool) -> Iterator[Resized]:
    pairs = [tuple(getattr(roll, f"{key}_mm") for roll in (one.before, one.after)) for one in rolls]
    shift = median(after - before for before, after in pairs) if shifted and pairs else 0.0
    for roll, (before, after) in zip(rolls, pairs, strict=True):
        if abs(after - shift - before) > _SAME_MM:
            yield Resized(roll.name, key, before, after)


def renamed(comparison: Comparison) -> tuple[tuple[str, str], ...]:
    """Return the ids, before and after, of the rolls that were renamed."""
    both = ((roll.before, roll.after) for roll in comparison.rolls)
    return tuple((a.id, b.id) for a, b in both if a is not None and b is not None and a.id != b.id)


def other_line(first: Survey, second: Survey) -> tuple[str, str] | None:
    """Return what the surveys say they are of, where that differs: asset, else customer."""
    pairs = ((first.line.asset, second.line.asset), (first.customer.name, second.customer.name))
    return next(((a, b) for a, b in pairs if a != b), None)


def other_reference(comparison: Comparison) -> OtherReference | None:
    """Return the roll against which fewest rolls would have moved, where most have against the present one.

    A reference that itself moved makes all others look moved; which one did is not for the numbers to tell.
    Nor is it with fewer than three others, and within one visit rolls have moved because they were adjusted.
    """
    present, judged = _moved(comparison.rolls), _judged(comparison.rolls)
    if comparison.reference is None or comparison.within_one_visit or 2 * present <= judged:
        return None
    if not _FEWEST_ROLLS <= judged <= _MOST_ROLLS:
        return None
    names = [roll.name for roll in comparison.rolls if roll.parallel.outcome in JUDGED]
    counts = {name: _moved(rolls_against(comparison, CommonReference(name))) for name in names}
    best = min(counts, key=lambda name: counts[name])
    return OtherReference(best, counts[best], present) if 2 * counts[best] < present else None


def scattered(solutions: Iterable[Solution]) -> tuple[Scattered, ...]:
    """Return the networks whose readings scatter more than stated, each visit once."""
    distinct = {one.survey.certificate.number: one for one in solutions}
    return tuple(
        Scattered(number, name, solved.quality.p_value)
        for number, one in distinct.items()
        for name in ASPECTS
        if (solved := one.aspect(name)) is not None
        and solved.quality.p_value is not None
        and solved.quality.p_value < LOW_P
    )


def temperatures(surveys: Iterable[Survey]) -> tuple[float, float] | None:
    """Return the coldest and the warmest visit, °C, where they are far enough apart to turn rolls."""
    known = [one.conditions.temperature_c for one in surveys]
    found = [value for value in known if value is not None]
    if not found or max(found) - min(found) <= _ALIKE_K:
        return None
    return min(found), max(found)


def _moved(rolls: tuple[RollChange, ...]) -> int:
    return sum(roll.parallel.outcome == "moved" for roll in rolls)


def _judged(rolls: tuple[RollChange, ...]) -> int:
    return sum(roll.parallel.outcome in JUDGED for roll in rolls)
