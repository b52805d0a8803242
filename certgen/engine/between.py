"""Slopes of one visit or of two together: their covariance, and how certain their difference is.

Readings of two visits are independent. Two things may be shared: a laser that was used at both under the same
calibration has the same squareness error at both, an instrument the same scale, which therefore cancel as far
as they enter both alike.
The errors of two calibrations count as independent, and so does the zero of a level at two visits.
Source: JCGM 100:2008, 5.2.2 and F.1.2.3 (correlation by a common instrument), G.4.1 (degrees of freedom).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import inf, sqrt

import numpy as np
from scipy.special import ndtr, stdtr

from certgen.engine.budget import budget, effective_dof
from certgen.engine.coverage import has_finite_dof
from certgen.engine.estimate import Array, Estimate
from certgen.engine.network import Network
from certgen.engine.observation import Observation, Unknown
from certgen.engine.parallel import squareness
from certgen.engine.shared import scale
from certgen.survey.survey import Survey


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
