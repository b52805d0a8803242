"""From standard to expanded uncertainty: U = k u (JCGM 100:2008, 6.2.1 and G.1.3)."""

from dataclasses import dataclass
from math import exp, inf, isinf, lgamma, log, pi, sqrt

from scipy.special import ndtri, stdtrit

from certgen.engine.budget import budget, effective_dof, statements
from certgen.engine.estimate import Estimate
from certgen.engine.network import Network
from certgen.survey.survey import Coverage, Uncertainties


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
    return sqrt(tail * (1.0 - tail) / trials) / _density(quantile, dof)


def _density(x: float, dof: float) -> float:
    if isinf(dof):
        return exp(-x * x / 2.0) / sqrt(2.0 * pi)
    half = (dof + 1.0) / 2.0
    return exp(lgamma(half) - lgamma(dof / 2.0) - half * log(1.0 + x * x / dof)) / sqrt(dof * pi)
