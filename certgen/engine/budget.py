"""The uncertainty budget of an estimate: what each source contributes, effective degrees of freedom."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf, sqrt

import numpy as np

from certgen.engine.estimate import Array, Estimate
from certgen.engine.network import Network
from certgen.survey.survey import StandardUncertainty, Uncertainties

_NOTHING = 1e-18  # a share of the variance that is rounding: gains that cancel leave so much
_EQUAL_PLACES = 9  # shares that agree to so many are equal, and stay in the order of the network


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
