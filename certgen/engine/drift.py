"""The drift of one roll: a steady rate through steps of unknown size, by generalised least squares.

Between two adjustments a roll stands at a + b t; every adjustment begins a new stretch with an a of its own,
and b is common to all, so that steps are never taken for drift. The slopes carry their whole covariance, that
of as found and as left of one visit among it. With whitened design X the estimate is that of linear least
squares, its covariance (XᵀX)⁻¹ from the triangle of X (A. C. Aitken, "On least squares and linear combination
of observations", Proc. Roy. Soc. Edinburgh 55 (1935) 42-48, cited from memory).

Where the residuals are larger than the stated uncertainties explain (chi-square test at 5 %), these are
enlarged by the root of chi-square over its degrees of freedom, and Student's t takes the place of the normal
distribution (R. T. Birge, Phys. Rev. 40 (1932) 207, cited from memory). Else they count as exactly known.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import inf, sqrt

import numpy as np
from scipy.optimize import brentq
from scipy.special import chdtrc, ndtri, stdtrit

from certgen.engine.between import Seen, covariances, two_sided_p
from certgen.engine.estimate import Array

PROBABILITY = 0.95


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


@dataclass(frozen=True, slots=True, eq=False)
class Drift:
    """The rate (mm/m per year) with its standard uncertainty and proof, and where the last stretch leads.

    `scale` is what the stated uncertainties were enlarged by (1: not at all), `dof` the degrees of freedom of
    the fit. `origin` is the year at which the last stretch has the value `level`; `spread` is the covariance
    of level and rate, shape (2, 2).
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
        """Whether a drift is shown at 95 %."""
        return self.p_value < 1.0 - PROBABILITY

    @property
    def unsteady(self) -> bool:
        """Whether the changes are too large for the stated uncertainties and yet no steady drift."""
        return self.scale > 1.0 and not self.shown

    @property
    def k(self) -> float:
        """The coverage factor for 95 %."""
        upper = (1.0 + PROBABILITY) / 2.0
        return float(ndtri(upper) if self.t_dof == inf else stdtrit(self.t_dof, upper))

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
    design = _design(course, years - origin)
    lower = np.linalg.cholesky(covariances(course.seen))
    values = np.array([one.estimate.value for one in course.seen])
    q, triangle = np.linalg.qr(np.linalg.solve(lower, design))
    whitened = np.linalg.solve(lower, values)
    found = np.linalg.solve(triangle, q.T @ whitened)
    chi_square = float(np.sum((whitened - q @ (q.T @ whitened)) ** 2))
    dof = len(values) - design.shape[1]
    return _drift(found, np.linalg.inv(triangle), (chi_square, dof), origin)


def _drift(found: Array, root: Array, fit: tuple[float, int], origin: float) -> Drift:
    """Take rate and last stretch, the last two unknowns, with their covariance from the inverted triangle."""
    chi_square, dof = fit
    chi_p = float(chdtrc(dof, chi_square)) if dof > 0 else None
    scale = sqrt(chi_square / dof) if chi_p is not None and chi_p < 1.0 - PROBABILITY else 1.0
    spread = scale**2 * (root @ root.T)[-2:, -2:]
    level, rate = (float(value) for value in found[-2:])
    return Drift(rate, sqrt(float(spread[1, 1])), dof, chi_square, chi_p, scale, origin, level, spread)


def _design(course: Course, years: Array) -> Array:
    """One column for the start of every stretch, one for the rate; shape (n, stretches + 1)."""
    stretches = np.array(course.stretches)
    starts = stretches[:, None] == np.arange(stretches.max() + 1)
    return np.column_stack([starts.astype(float), years])


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
