"""Uncertainty of an estimate: its budget, U = k u (JCGM 100:2008), and differences of estimates."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import exp, inf, isinf, lgamma, log, pi, sqrt

import numpy as np
from scipy.special import ndtri, stdtrit

from certgen.network.least_squares import Array, Estimate, Network
from certgen.survey.survey import Coverage, StandardUncertainty, Uncertainties

_NOTHING = 1e-18  # a share of the variance that is rounding: gains that cancel leave so much
_EQUAL_PLACES = 9  # shares that agree to so many are equal, and stay in the order of the network


@dataclass(frozen=True)
class Differences:
    """Estimates of one network by name, to be held against each of themselves in turn."""

    estimates: Mapping[str, Estimate]

    def u(self, against: str) -> Mapping[str, float]:
        """Return the standard uncertainty of every estimate less the one of that name, in their unit.

        The same as `(estimate - reference).u`: what both share is subtracted before it is squared. Errors of
        blocks that only one of the two has are independent, so their variances add.
        """
        places = {name: place for place, name in enumerate(self.estimates)}
        reference, place = self.estimates[against], places[against]
        shared = np.sum((self._shared - self._shared[place]) ** 2, axis=1)
        each = np.sqrt(shared + self._own + self._own[place]).tolist()
        found = dict(zip(self.estimates, each, strict=True))
        common = {name for block in reference.own for name in self._members[block]} | {against}
        return found | {name: (self.estimates[name] - reference).u for name in common}

    @cached_property
    def _shared(self) -> Array:
        """The coefficients on shared errors, shape (n, s)."""
        return np.array([one.shared for one in self.estimates.values()])

    @cached_property
    def _own(self) -> Array:
        """The variance that errors of blocks make up, shape (n,)."""
        every = (one.own.values() for one in self.estimates.values())
        return np.array([sum(float(part @ part) for part in parts) for parts in every])

    @cached_property
    def _members(self) -> Mapping[str, list[str]]:
        """The estimates that touch each block."""
        found: dict[str, list[str]] = {}
        for name, one in self.estimates.items():
            for block in one.own:
                found.setdefault(block, []).append(name)
        return found


@dataclass(frozen=True, slots=True)
class Share:
    """One source of a budget.

    `input_u` is its standard uncertainty as it enters one reading (mm or mm/m; for the drift of setups, the
    root of the mean square), `sensitivity` the root of the sum of the squared gains of the readings it
    enters, so that their product is `u`, the contribution to the estimate in mm/m. `part` is its share of
    the variance (0 to 1). `said` is what the survey states of it, None where it states several or none.
    """

    source: str
    input_u: float
    sensitivity: float
    u: float
    part: float
    dof: float
    said: StandardUncertainty | None = None


def budget(network: Network, estimate: Estimate, stated: Uncertainties) -> tuple[Share, ...]:
    """Return the budget of an estimate, largest share first; empty for an exactly known value.

    The variance is the sum over readings of squared gain times variance (JCGM 100:2008, 5.1.2).
    """
    gains = network.gains(estimate)
    shares = [_share(network, gains, source, stated) for source in network.sources]
    total = sum(share.u**2 for share in shares)
    if total == 0.0:
        return ()
    whole = (replace(share, part=share.u**2 / total) for share in shares)
    entering = (share for share in whole if share.part > _NOTHING)
    return tuple(sorted(entering, key=lambda share: -round(share.part, _EQUAL_PLACES)))


def effective_dof(shares: tuple[Share, ...]) -> float:
    """Return the effective degrees of freedom (Welch-Satterthwaite, JCGM 100:2008, G.4.1)."""
    total = sum(share.u**2 for share in shares)
    spread = sum(share.u**4 / share.dof for share in shares)
    return total**2 / spread if spread > 0.0 else inf


def statements(
    network: Network, stated: Uncertainties, source: str
) -> Sequence[tuple[StandardUncertainty | None, Sequence[int]]]:
    """Return the statements of a source, each with the observations that it holds for.

    One that is stated for all readings alike, or told by the level checks (None), holds for all observations.
    """
    own = network.said.get(source)
    return own or [(statement(stated, source), range(len(network.observations)))]


def statement(stated: Uncertainties, source: str) -> StandardUncertainty | None:
    """Return what the survey states of a source for all readings alike; None where it does not."""
    found: Mapping[str, StandardUncertainty | None] = {
        "reading": stated.reading_mm,
        "repeatability": stated.repeatability_mm,
        "seating": stated.seating_mm,
        "level": stated.level_mm_per_m,
        "level_zero": stated.level_zero_mm_per_m or stated.level_mm_per_m,
        "level_plane": stated.level_plane_mm_per_m,
        "squareness": stated.squareness_mm_per_m,
    }
    return found.get(source)


def _share(network: Network, gains: Array, source: str, stated: Uncertainties) -> Share:
    variances, said = network.sources[source], statements(network, stated, source)
    each = gains**2 * variances
    u = sqrt(float(np.sum(each)))
    alike = dict.fromkeys(known for known, _ in said)
    one = next(iter(alike)) if len(alike) == 1 else None
    input_u = one.value if one is not None else _root_mean_square(variances)
    dof = inf if one is None else one.dof
    if len(said) > 1:
        dof = _dof([(known, float(np.sum(each[rows]))) for known, rows in said])
    return Share(source, input_u, u / input_u if input_u else 0.0, u, 0.0, dof, one)


def _root_mean_square(variances: Array) -> float:
    entered = variances > 0.0
    return sqrt(float(np.mean(variances[entered]))) if entered.any() else 0.0


def _dof(variances: Sequence[tuple[StandardUncertainty | None, float]]) -> float:
    """Return the degrees of freedom of a source of several statements, each known by itself (G.4.1)."""
    spread = sum(variance**2 / one.dof for one, variance in variances if one is not None)
    return sum(variance for _, variance in variances) ** 2 / spread if spread > 0.0 else inf


@dataclass(frozen=True, slots=True)
class Expanded:
    """A standard uncertainty `u`, its effective degrees of freedom and the factor `k` that makes U of it."""

    u: float
    k: float
    dof: float

    @property
    def U(self) -> float:  # noqa: N802  (the symbol of the guides)
        """The expanded uncertainty, in the unit of u."""
        return self.k * self.u


def coverage_factor(coverage: Coverage, dof: float = inf) -> float:
    """Return k: as stated, or from Student's t at `dof` degrees of freedom for the stated probability."""
    if coverage.k is not None:
        return coverage.k
    if coverage.probability is None:
        msg = "a coverage states k or a probability"
        raise ValueError(msg)
    upper = (1.0 + coverage.probability) / 2.0
    return float(ndtri(upper) if isinf(dof) else stdtrit(dof, upper))


def expand(network: Network, estimate: Estimate, stated: Uncertainties) -> Expanded:
    """Return the expanded uncertainty of an estimate of that network.

    Its effective degrees of freedom are infinite where every source is exactly known (no `dof` stated, no
    scatter of repeated readings).
    """
    dof = effective_dof(budget(network, estimate, stated)) if has_finite_dof(network, stated) else inf
    return Expanded(estimate.u, coverage_factor(stated.coverage, dof), dof)


def has_finite_dof(network: Network, stated: Uncertainties) -> bool:
    """Return whether any source is known by its degrees of freedom only, so that k differs by estimate."""
    said = (one for source in network.sources for one, _ in statements(network, stated, source))
    return any(one is not None and not isinf(one.dof) for one in said)


def end_scatter(probability: float, dof: float, trials: int) -> float:
    """Return the standard deviation of a drawn end of a coverage interval, in units of u.

    That of a sample quantile, √(p (1 − p) / n) / f(q), with f the density of Student's t at `dof`.
    """
    tail = (1.0 - probability) / 2.0
    quantile = -coverage_factor(Coverage(None, probability), dof)
    if isinf(dof):
        density = exp(-quantile * quantile / 2.0) / sqrt(2.0 * pi)
    else:
        half = (dof + 1.0) / 2.0
        density = exp(lgamma(half) - lgamma(dof / 2.0) - half * log(1.0 + quantile * quantile / dof)) / sqrt(
            dof * pi
        )
    return sqrt(tail * (1.0 - tail) / trials) / density
