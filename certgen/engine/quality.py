"""Proof of a network: chi-square, redundancy, standardised residuals, suspects and closures.

Sources: W. Baarda, "A testing procedure for use in geodetic networks" (1968), for redundancy numbers and the
w-test; C. D. Ghilani, Adjustment Computations, chapter 21, for the same in practice (both from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import chdtrc, ndtri

from certgen.engine.estimate import Array
from certgen.engine.network import Network
from certgen.engine.observation import Label, Observation, Unknown

# Two-sided risk of naming a sound reading, per reading; Baarda's customary value.
SUSPECT_RISK = 0.001
# A p-value below this says that the stated uncertainties do not explain the residuals (customary 5 %).
LOW_P = 0.05
# Below this redundancy a residual says nothing: the reading is (nearly) alone in what it determines.
_UNCHECKED = 1e-6


@dataclass(frozen=True, slots=True)
class Suspect:
    """A reading whose standardised residual `w` (fitted minus read) is beyond the critical value."""

    label: Label
    w: float


@dataclass(frozen=True, slots=True)
class Closure:
    """One roll read again in the same condition: the difference in slope to its first reading, mm/m.

    Between setups it is what is left after the adjustment: the re-reading has already pulled at the tie by
    the rest. `u` is the standard uncertainty of what is left if nothing moved, so that the two compare as
    the raw misclosure does with its own. `label` is that of the re-reading, `first` that of the reading it
    is compared with.
    """

    label: Label
    first: Label
    slope_mm_per_m: float
    u_mm_per_m: float


@dataclass(frozen=True, slots=True)
class Quality:
    """The proof of one network. `p_value` is None without degrees of freedom; `w` has nan where unchecked."""

    observations: int
    unknowns: int
    dof: int
    chi_square: float
    p_value: float | None
    redundancy: Array
    w: Array
    critical_w: float
    suspects: tuple[Suspect, ...]
    closures: tuple[Closure, ...]


def quality(network: Network) -> Quality:
    """Return the proof of a network, suspects by falling size of w."""
    dof = network.degrees_of_freedom
    redundancy = _redundancy(network)
    w = _standardised(network, redundancy)
    critical = float(ndtri(1.0 - SUSPECT_RISK / 2.0))
    return Quality(
        observations=len(network.observations),
        unknowns=len(network.values),
        dof=dof,
        chi_square=network.chi_square,
        p_value=float(chdtrc(dof, network.chi_square)) if dof > 0 else None,
        redundancy=redundancy,
        w=w,
        critical_w=critical,
        suspects=_suspects(network.observations, w, critical),
        closures=_closures(network),
    )


def _redundancy(network: Network) -> Array:
    """1 minus the variance of the fit over that of the reading, per observation; they sum to the dof."""
    fitted = np.array([fit.covariance(fit) for fit in network.fits])
    return np.asarray(1.0 - fitted / network.sigmas**2)


def _standardised(network: Network, redundancy: Array) -> Array:
    checked = redundancy > _UNCHECKED
    w = np.full(len(redundancy), np.nan)
    w[checked] = network.residuals[checked] / (network.sigmas[checked] * np.sqrt(redundancy[checked]))
    return w


def _suspects(observations: Sequence[Observation], w: Array, critical: float) -> tuple[Suspect, ...]:
    """Both ends of one seating have the same size of w, so equal ones keep the order of the survey."""
    size = np.round(np.abs(np.nan_to_num(w)), 6)
    worst_first = np.argsort(-size, kind="stable")
    return tuple(Suspect(observations[i].label, float(w[i])) for i in worst_first if size[i] > critical)


def _closures(network: Network) -> tuple[Closure, ...]:
    """Compare every later seating series of a roll in one condition with its first."""
    series: dict[tuple[object, ...], dict[tuple[object, ...], list[int]]] = {}
    for i, observation in enumerate(network.observations):
        if observation.label.source == "roll":
            label = observation.label
            series.setdefault(_condition(observation), {}).setdefault((label.setup, label.series), []).append(
                i
            )
    found = (
        _closure(network, first, again)
        for readings in series.values()
        for first, *later in [list(readings.values())]
        for again in later
    )
    return tuple(closure for closure in found if closure is not None)


def _condition(observation: Observation) -> tuple[object, ...]:
    """Readings of one roll with the same slope unknown (or the reference's zero) are in one condition."""
    slopes = tuple(unknown for unknown in observation.terms if unknown.kind == "slope")
    return (observation.label.roll, slopes)


def _closure(network: Network, first: Sequence[int], again: Sequence[int]) -> Closure | None:
    """The fit is the same for both, so the difference in slope is that of the residuals, and so is its u."""
    gains = np.zeros(len(network.observations))
    for (near, far), sign in ((first, 1.0), (again, -1.0)):
        span_m = _arm(network, far) - _arm(network, near)
        gains[far] += sign / span_m
        gains[near] -= sign / span_m
    variance = float(np.sum((gains * network.sigmas) ** 2)) - _variance_of_fits(network, gains)
    labels = network.observations[again[0]].label, network.observations[first[0]].label
    if variance <= _UNCHECKED * float(np.sum((gains * network.sigmas) ** 2)):
        return None
    return Closure(*labels, float(gains @ network.residuals), float(np.sqrt(variance)))


def _arm(network: Network, i: int) -> float:
    """The position of a roll reading across the machine, in metres: what multiplies the azimuth."""
    return -next(c for unknown, c in network.observations[i].terms.items() if unknown.kind == "azimuth")


def _variance_of_fits(network: Network, gains: Array) -> float:
    terms: dict[Unknown, float] = {}
    for i in np.flatnonzero(gains):
        for unknown, coefficient in network.observations[i].terms.items():
            terms[unknown] = terms.get(unknown, 0.0) + gains[i] * coefficient
    combined = network.estimate(terms)
    return combined.covariance(combined)
