"""The drift of one roll, by generalised least squares through steps of unknown size, and when it leaves.

Between two adjustments a roll stands at a + b t; every adjustment begins a new stretch with an a of its own,
and b is common to all, so that steps are never taken for drift. The slopes carry their whole covariance, that
of as found and as left of one visit among it. With whitened design X the estimate is that of linear least
squares, its covariance (XᵀX)⁻¹ from the triangle of X (A. C. Aitken, "On least squares and linear combination
of observations", Proc. Roy. Soc. Edinburgh 55 (1935) 42-48, cited from memory).

Where the residuals are larger than the stated uncertainties explain (chi-square test at 5 %), these are
enlarged by the root of chi-square over its degrees of freedom, and Student's t takes the place of the normal
distribution (R. T. Birge, Phys. Rev. 40 (1932) 207, cited from memory). Else they count as exactly known.

Where they are larger and one sudden movement between two visits, of a roll that stands still before and
after, is twenty times as likely as any steady rate, what is seen is that movement and no drift. It has as
many unknowns as the rate, so that the difference of chi-square tells the ratio of the likelihoods by itself,
exp(difference / 2) for normal errors; where the movement leaves more scatter than stated as well, this
enlarges the uncertainties of both (our own rule, no source).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import inf, log, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq
from scipy.special import chdtrc, ndtri, stdtrit

from certgen.network.least_squares import Array
from certgen.visits.standing import Seen, covariances, two_sided_p

_Floats = NDArray[np.floating[Any]]  # what numpy.linalg returns

PROBABILITY = 0.95
K = float(ndtri((1.0 + PROBABILITY) / 2.0))  # its coverage factor where u is exactly known

_FAR_MORE_LIKELY = 2.0 * log(20.0)  # as a difference of chi-square
_COLLINEAR = 1e-9  # of its square: a movement that the starts of the stretches explain by themselves
_EQUAL_PLACES = 9  # of chi-square: movements that leave as much are equal, and the first one counts


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """The slopes of one roll over time: years from any origin, and the stretch that each belongs to.

    Stretches are numbered from 0 without a gap; slopes in mm/m.
    """

    years: Sequence[float]
    stretches: Sequence[int]
    seen: Sequence[Seen]

    @property
    def has_rate(self) -> bool:
        """Whether some stretch holds two times, without which no rate can be told."""
        times: dict[int, set[float]] = {}
        for stretch, year in zip(self.stretches, self.years, strict=True):
            times.setdefault(stretch, set()).add(year)
        return any(len(found) > 1 for found in times.values())


@dataclass(frozen=True, slots=True)
class Movement:
    """One sudden movement of a roll that stands still before and after, between two times in years."""

    after: float
    before: float
    chi_p: float

    @property
    def explains(self) -> bool:
        """Whether chi-square does not refuse it at 5 %: nothing else need have happened."""
        return self.chi_p >= 1.0 - PROBABILITY


@dataclass(frozen=True, slots=True, eq=False)
class Drift:
    """The rate (mm/m per year) with its standard uncertainty and proof, and where the last stretch leads.

    `scale` is what the stated uncertainties were enlarged by (1: not at all), `dof` the degrees of freedom of
    the fit. `sudden` is the one movement that is far more likely than the rate, None where the fit is not
    refused or no movement is. `origin` is the year at which the last stretch has the value `level`;
    `spread` is the covariance of level and rate, shape (2, 2).
    """

    rate: float
    u_rate: float
    dof: int
    chi_square: float
    chi_p: float | None
    scale: float
    origin: float
    level: float
    spread: Array
    sudden: "Movement | None" = None

    @property
    def t_dof(self) -> float:
        """The degrees of freedom of u: those of the scatter where that was used, else infinite."""
        return inf if self.scale == 1.0 else self.dof

    @property
    def p_value(self) -> float:
        """The probability of so large a rate, or a larger one, of a roll that stands still."""
        return two_sided_p(self.rate / self.u_rate, self.t_dof)

    @property
    def shown(self) -> bool:
        """Whether a drift is shown at 95 %, and not rather a sudden movement."""
        return self.p_value < 1.0 - PROBABILITY and self.sudden is None

    @property
    def unsteady(self) -> bool:
        """Whether the changes are too large for the stated uncertainties and yet no steady drift."""
        return self.scale > 1.0 and not self.shown

    @property
    def k(self) -> float:
        """The coverage factor for 95 %."""
        return K if self.t_dof == inf else float(stdtrit(self.t_dof, (1.0 + PROBABILITY) / 2.0))

    def at(self, year: float) -> tuple[float, float]:
        """Return the slope to be expected in a year, and its standard uncertainty, mm/m."""
        row = np.array([1.0, year - self.origin])
        return self.level + self.rate * row[1], sqrt(float(row @ self.spread @ row))


def drift(course: Course) -> Drift | None:
    """Return the drift of a course; None where no rate can be told."""
    if not course.has_rate:
        return None
    years = np.array(course.years)
    origin = float(years[-1])
    lower = np.linalg.cholesky(covariances(course.seen))
    values = np.array([one.estimate.value for one in course.seen])
    whitened = np.linalg.solve(lower, values)
    # linear least squares of whitened values
    # one column for the start of every stretch, one for the rate; shape (n, stretches + 1)
    design = np.linalg.solve(lower, np.column_stack([_starts(course), (years - origin)]))
    q, triangle = np.linalg.qr(design)
    chi_square = float(np.sum((whitened - q @ (q.T @ whitened)) ** 2))
    unknowns = np.linalg.solve(triangle, q.T @ whitened)
    steady = _Fit(unknowns, np.linalg.inv(triangle), chi_square, len(whitened) - design.shape[1])
    # take rate and last stretch, the last two unknowns, with their covariance
    chi_square, dof, root = steady.chi_square, steady.dof, steady.root
    chi_p = float(chdtrc(dof, chi_square)) if dof > 0 else None
    scale = sqrt(chi_square / dof) if chi_p is not None and chi_p < 1.0 - PROBABILITY else 1.0
    spread = scale**2 * (root @ root.T)[-2:, -2:]
    level, rate = (float(value) for value in steady.unknowns[-2:])
    found = Drift(rate, sqrt(float(spread[1, 1])), dof, chi_square, chi_p, scale, origin, level, spread)
    if found.scale == 1.0:
        return found
    return replace(found, sudden=_sudden(course, lower, whitened, steady))


@dataclass(frozen=True, slots=True, eq=False)
class _Fit:
    """Unknowns with their covariance as a root of it, chi-square and its degrees of freedom."""

    unknowns: Array
    root: Array
    chi_square: float
    dof: int


def _sudden(course: Course, lower: _Floats, values: _Floats, steady: _Fit) -> Movement | None:
    """Return the movement that leaves least chi-square, where it is far more likely than a steady rate.

    With the starts of the stretches projected out of both, a column c leaves v.v - (c.v)^2 / c.c of values v.
    """
    times = sorted(set(course.years))
    moved = np.array(course.years)[:, None] > np.array(times[:-1])
    q, _ = np.linalg.qr(np.linalg.solve(lower, _starts(course)))
    whole = np.linalg.solve(lower, moved)
    columns, rest = (part - q @ (q.T @ part) for part in (whole, values))
    size = np.sum(columns**2, axis=0)
    told = size > _COLLINEAR * np.sum(whole**2, axis=0)
    left = rest @ rest - np.where(told, (columns.T @ rest) ** 2 / np.where(told, size, 1.0), 0.0)
    at = int(np.argmin(np.round(left, _EQUAL_PLACES)))
    if (steady.chi_square - left[at]) / max(1.0, left[at] / steady.dof) <= _FAR_MORE_LIKELY:
        return None
    return Movement(times[at], times[at + 1], float(chdtrc(steady.dof, max(left[at], 0.0))))


def _starts(course: Course) -> Array:
    """One column for the start of every stretch, shape (n, stretches)."""
    stretches = np.array(course.stretches)
    return np.asarray(stretches[:, None] == np.arange(stretches.max() + 1), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Reach:
    """When a slope drifts over a limit, in years: expected, and its 95 % bounds; None: not so soon."""

    expected: float | None
    earliest: float | None
    latest: float | None


def reach(one: Drift, target: float, limit: float, horizon: float) -> Reach:
    """Return when the slope less its target leaves ±limit, from the last visit to the horizon (years).

    `earliest` is the first year at which the limit is no longer kept with 95 %, the last visit's own where it
    was not kept then; `latest` the year by which it has been passed with 95 %.
    """

    def over(side: float, bound: float) -> Callable[[float], float]:
        """How far the slope, bound times its U further out, lies over the limit on one side."""

        def excess(year: float) -> float:
            value, u = one.at(year)
            return side * (value - target) + bound * one.k * u - limit

        return excess

    def first(bound: float) -> float | None:
        found = (_first_root(over(side, bound), one.origin, horizon) for side in (1.0, -1.0))
        return min((year for year in found if year is not None), default=None)

    return Reach(expected=first(0.0), earliest=first(1.0), latest=first(-1.0))


def _first_root(excess: Callable[[float], float], start: float, end: float) -> float | None:
    """Return where a function that rises through zero once does so, `start` where it is above at once.

    A straight line plus or minus the root of a quadratic crosses upwards once at most (it is convex, or
    concave and rising to its asymptote); a concave one that falls back before the end is not followed.
    """
    if excess(start) > 0.0:
        return start
    return float(brentq(excess, start, end)) if excess(end) > 0.0 else None
