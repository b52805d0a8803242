"""How the rolls stood at one moment of a visit, and how certain the difference of two moments is.

Readings of two visits are independent. Two things may be shared: a laser that was used at both under the same
calibration has the same squareness error at both, an instrument the same scale, which therefore cancel as far
as they enter both alike.
The errors of two calibrations count as independent, and so does the zero of a level at two visits.
Source: JCGM 100:2008, 5.2.2 and F.1.2.3 (correlation by a common instrument), G.4.1 (degrees of freedom).

A roll with `was: X` is the one that the surveys before called X; a roll of id X in the same survey is then
another one. `was` may stay in the files of the years that follow: where a survey before has the roll under
its own id, and no roll X or one beside it that says `was: X` as well, it is that one.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import chain, count
from math import inf, sqrt

import numpy as np
from scipy.special import ndtr, stdtr

from certgen.assessment.assessment import AspectName
from certgen.errors import CannotCompute
from certgen.network.equations import Observation, Unknown
from certgen.network.least_squares import Array, Estimate, Network, known
from certgen.network.parallel import squareness
from certgen.network.shared_errors import scale
from certgen.network.solution import Solution
from certgen.network.uncertainty import budget, effective_dof, has_finite_dof
from certgen.survey.survey import Roll, Round, Survey
from certgen.survey.unread import Unread, reference_was_moved


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """A slope (mm/m) as one visit saw it, with the network and the survey it comes from."""

    estimate: Estimate
    network: Network
    survey: Survey

    def less(self, other: "Seen") -> "Seen":
        """Return the difference to another slope of the same visit; what both share cancels."""
        return Seen(self.estimate - other.estimate, self.network, self.survey)


@dataclass(frozen=True, slots=True)
class Difference:
    """A later slope less an earlier one, mm/m, its standard uncertainty and effective degrees of freedom."""

    value: float
    u: float
    dof: float

    @property
    def p_value(self) -> float:
        """The probability of so large a difference, or a larger one, where nothing has changed."""
        return 1.0 if self.value == 0.0 else two_sided_p(self.value / self.u if self.u else inf, self.dof)


def difference(earlier: Seen, later: Seen) -> Difference:
    """Return later minus earlier, of one visit or of two."""
    if earlier.network is later.network:
        change = later.estimate - earlier.estimate
        return Difference(change.value, change.u, _dof([Seen(change, later.network, later.survey)], change.u))
    variance = earlier.estimate.u**2 + later.estimate.u**2 - 2.0 * covariance(earlier, later)
    u = sqrt(max(variance, 0.0))
    return Difference(later.estimate.value - earlier.estimate.value, u, _dof([earlier, later], u))


def covariance(first: Seen, second: Seen) -> float:
    """Return the covariance of two slopes, (mm/m)², of one visit or of two."""
    return float(covariances([first, second])[0, 1])


def covariances(seen: Sequence[Seen]) -> Array:
    """Return the covariance matrix of slopes of any visits, (mm/m)², shape (n, n)."""
    shares = [_shares(one) for one in seen]
    calibrations = list(dict.fromkeys(key for one in shares for key in one))
    common = np.array([[one.get(key, 0.0) for key in calibrations] for one in shares])
    found: Array = common @ common.T
    for of_one_visit in _by_network(seen):
        for row in of_one_visit:
            for column in of_one_visit:
                found[row, column] = seen[row].estimate.covariance(seen[column].estimate)
    return found


def _by_network(seen: Sequence[Seen]) -> Iterable[list[int]]:
    """The places of the slopes of each visit."""
    places: dict[int, list[int]] = {}
    for place, one in enumerate(seen):
        places.setdefault(id(one.network), []).append(place)
    return places.values()


def two_sided_p(ratio: float, dof: float) -> float:
    """Return the probability of a ratio of at least this size either way: Student's t, normal at inf."""
    size = -abs(ratio)
    return float(2.0 * (ndtr(size) if dof == inf else stdtr(dof, size)))


def _shares(seen: Seen) -> dict[tuple[object, ...], float]:
    """What one standard uncertainty of each calibration adds to a slope, mm/m."""
    found: dict[tuple[object, ...], float] = {}
    for one in seen.survey.instruments:
        for unknown in (squareness(one.id), scale(one.id)):
            calibration = (one.serial, one.calibrated, unknown.kind)
            found[calibration] = found.get(calibration, 0.0) + _share(seen, unknown)
    return found


def _share(seen: Seen, unknown: Unknown) -> float:
    """Return what one standard uncertainty of an instrument's error adds to a slope, mm/m; 0 if it cancels.

    That is the covariance with the fitted error over its standard uncertainty (see Network.gains).
    """
    if unknown not in seen.network.values:
        return 0.0
    prior = next(row for row in reversed(seen.network.observations) if _is_prior_of(row, unknown))
    return seen.estimate.covariance(seen.network.estimate(prior.terms)) / prior.sigma


def _is_prior_of(row: Observation, unknown: Unknown) -> bool:
    return row.label.source == "prior" and unknown in row.terms


def _dof(parts: list[Seen], u: float) -> float:
    """Welch-Satterthwaite; each visit's sources count as determined by themselves."""
    finite = [part for part in parts if _has_finite_dof(part)]
    if not finite or u == 0.0:
        return inf
    spread = sum(
        part.estimate.u**4 / effective_dof(budget(part.network, part.estimate, part.survey.uncertainty))
        for part in finite
    )
    return u**4 / spread if spread > 0.0 else inf


def _has_finite_dof(part: Seen) -> bool:
    return part.estimate.u > 0.0 and has_finite_dof(part.network, part.survey.uncertainty)


@dataclass(frozen=True, slots=True)
class _Sought:
    """A roll of later surveys: the name it goes by over all, its id in the earliest of them, and `was`."""

    name: str
    id: str
    was: str | None

    def past(self, rolls: Mapping[str, Roll]) -> str | None:
        """Return the id it has in a survey before; None where that has not got it."""
        own = rolls.get(self.id)
        if self.was in rolls and (own is None or own.was != self.was):
            return self.was
        return None if own is None else self.id


def identities(surveys: Sequence[Survey]) -> tuple[Mapping[str, str], ...]:
    """Return for each survey, the earliest first, its roll ids with the names they go by over all.

    A roll goes by its last id; one that vanished, where that id has another owner later on, by the id with
    the day of the last survey that held it.
    """
    sought: list[_Sought] = []
    names: set[str] = set()
    found: list[Mapping[str, str]] = []
    for survey in reversed(surveys):
        known = _known(sought, {roll.id: roll for roll in survey.rolls})
        here = {}
        for roll in survey.rolls:
            one = known.get(roll.id)
            here[roll.id] = _new(roll.id, survey, names) if one is None else one.name
            names.add(here[roll.id])
        sought = [*_still(sought, known), *_next(survey, here, known)]
        found.append(here)
    return tuple(reversed(found))


def _known(sought: Sequence[_Sought], rolls: Mapping[str, Roll]) -> dict[str, _Sought]:
    """Return by id the rolls of a survey that later ones know; those that say what they were come first."""
    found: dict[str, _Sought] = {}
    for one in sorted(sought, key=lambda one: one.was is None):
        past = one.past(rolls)
        if past is not None:
            found.setdefault(past, one)
    return found


def _still(sought: Iterable[_Sought], known: Mapping[str, _Sought]) -> list[_Sought]:
    """The rolls to look for in the surveys before; not those whose id turned out to be another roll's."""
    met = {one.name for one in known.values()}
    return [one for one in sought if one.name not in met and one.id not in known]


def _next(survey: Survey, here: Mapping[str, str], known: Mapping[str, _Sought]) -> Iterable[_Sought]:
    """The rolls of a survey as its predecessors know them; what a later one said of a roll holds for them."""
    for roll in survey.rolls:
        later = known.get(roll.id)
        said = later.was if later is not None and later.was != roll.id else None
        yield _Sought(here[roll.id], roll.id, roll.was or said)


def _new(name: str, survey: Survey, names: set[str]) -> str:
    """Return a name that no roll goes by yet."""
    dated = f"{name} ({survey.visit.finished})"
    candidates = chain((name, dated), (f"{dated} {number}" for number in count(2)))
    return next(one for one in candidates if one not in names)


@dataclass(frozen=True, eq=False, slots=True)
class Moment:
    """One round of a visit. `names` are its roll ids with the names the rolls go by over all visits."""

    solution: Solution
    round: Round
    names: Mapping[str, str]

    @property
    def survey(self) -> Survey:
        """The survey of the visit."""
        return self.solution.survey

    @property
    def day(self) -> date:
        """The day it stands for: as found the first day of the work, as left the last."""
        visit = self.survey.visit
        return visit.started if self.round == "as_found" else visit.finished

    def slopes(self, aspect: AspectName, *, read: bool = False) -> dict[str, Seen]:
        """Return the slopes (mm/m) by name, parallel against the visit's own reference.

        What was not read as left stands as it was found, save where an adjustment was reported; none of it
        does where only what was `read` in the round is wanted.
        """
        solved = self.solution.level if aspect == "level" else self.solution.parallel
        if solved is None:
            return {}
        rounds: tuple[Round, ...] = (
            ("as_found", "as_left") if self.round == "as_left" and not read else (self.round,)
        )
        found = {roll: slope for which in rounds for (roll, w), slope in solved.slopes.items() if w == which}
        lost = self.lost(aspect)
        found = {roll: slope for roll, slope in found.items() if self.names[roll] not in lost}
        own = self.survey.reference.roll
        zero = self.round == "as_left" or not reference_was_moved(self.survey)
        if aspect == "parallel" and own is not None and zero:
            found.setdefault(own, known(0.0, len(solved.network.shared.columns)))
        return {self.names[roll]: Seen(slope, solved.network, self.survey) for roll, slope in found.items()}

    def lost(self, aspect: AspectName) -> frozenset[str]:
        """Return the names of rolls that no reading tells of as they stand: moved, or read and set aside."""
        solved = self.solution.level if aspect == "level" else self.solution.parallel
        if solved is None or self.round == "as_found":
            return frozenset()
        unread = Unread(self.survey)
        gone = {"moved, not read again", "reading set aside"}
        rolls = (roll for roll in self.survey.rolls if unread.reason(aspect, roll, "as_left") in gone)
        return frozenset(self.names[roll.id] for roll in rolls)


@dataclass(frozen=True, slots=True)
class CommonReference:
    """What parallel is held against at every moment: a roll by its name, or an offset line (roll None).

    `brought` says whether some visit had another reference, so that its slopes are brought to this one.
    """

    roll: str | None
    monuments: tuple[str, ...] = ()
    brought: bool = False


def common_reference(moments: Sequence[Moment], wanted: str | None = None) -> CommonReference | None:
    """Return the reference common to all moments; None where parallel was not surveyed in one of them.

    The roll that is `wanted`; else the same offset line; else the reference roll of the latest visit whose
    reference was measured at all. Where the moments are the rounds of one visit it must have been read in
    each, as what is judged between them. Raises CannotCompute where there is none.
    """
    one_visit = len({id(moment.solution) for moment in moments}) == 1
    seen = [set(moment.slopes("parallel", read=one_visit)) for moment in moments]
    if not all(seen):
        return None
    latest = moments[-1]
    names = (latest.names[roll.id] for roll in latest.survey.rolls)
    everywhere = [name for name in names if all(name in found for found in seen)]
    own, present = [_own(moment) for moment in moments], _own(latest)
    if one_visit and reference_was_moved(latest.survey) and wanted in (None, present):
        others = [name for name in everywhere if name != present]
        message = (
            f"The reference, roll {present}, was moved between the rounds, so nothing is held against it."
        )
        raise CannotCompute(f"{message} {_choice(others)}")
    if wanted is not None:
        return _wanted(wanted, everywhere, own)
    lines = {frozenset(moment.survey.reference.monuments) for moment in moments}
    if own == [None] * len(own) and len(lines) == 1:
        return CommonReference(None, latest.survey.reference.monuments)
    roll = next((name for name in reversed(own) if name in everywhere), None)
    if roll is None:
        raise CannotCompute(f"The visits have no reference in common. {_choice(everywhere)}")
    return CommonReference(roll, brought=any(name != roll for name in own))


def _own(moment: Moment) -> str | None:
    roll = moment.survey.reference.roll
    return None if roll is None else moment.names[roll]


def _wanted(wanted: str, everywhere: Sequence[str], own: Sequence[str | None]) -> CommonReference:
    if wanted not in everywhere:
        message = f"Roll {wanted} was not measured for parallel every time, so it cannot be the reference."
        raise CannotCompute(f"{message} {_choice(everywhere)}")
    return CommonReference(wanted, brought=any(name != wanted for name in own))


def _choice(everywhere: Sequence[str]) -> str:
    if not everywhere:
        return "No roll was measured for parallel every time."
    return f"Measured every time, and to be named with --reference: {', '.join(everywhere)}."


def against(slopes: Mapping[str, Seen], reference: CommonReference | None) -> dict[str, Seen]:
    """Return slopes against a common reference of the same moment; level slopes (None) stay as they are."""
    if reference is None or reference.roll is None:
        return dict(slopes)
    zero = slopes[reference.roll]
    return {name: slope.less(zero) for name, slope in slopes.items()}
