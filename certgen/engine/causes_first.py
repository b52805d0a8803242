"""The causes of suspects as the first edition of the rules named them, for certificates that record it.

Only the reading that was named first is tried, and nothing is said of a coincidence; causes.py has the rule
in force.
"""

from collections.abc import Iterable

import numpy as np

from certgen.engine.causes import Cause
from certgen.engine.network import Network
from certgen.engine.observation import Unknown
from certgen.engine.residuals import CRITICAL_W, Residuals
from certgen.engine.suspects import Suspect

_AGREES = 3.0
_FACTORS: tuple[tuple[Cause, float], ...] = (
    ("unit", 25.4),
    ("unit", 1.0 / 25.4),
    ("decimal", 10.0),
    ("decimal", 0.1),
    ("decimal", 100.0),
    ("decimal", 0.01),
)


def cause_by_first_edition(network: Network, found: Residuals, suspect: Suspect) -> Cause | None:
    """Return the likely cause, or None where the numbers do not show one."""
    if suspect.label.source == "monument" and _monument_moved(network, suspect):
        return "monument"
    read, true, u = _read_and_true(network, found, suspect)
    near = _AGREES * u
    if abs(read) > near and abs(true + read) <= near:
        return "sign" if suspect.label.source in {"level", "monument"} else "ends or sign"
    matching = (
        name
        for name, factor in _FACTORS
        if min(abs(factor * read), abs(true)) > near and abs(true - factor * read) <= near
    )
    return next(matching, None)


def _read_and_true(network: Network, found: Residuals, suspect: Suspect) -> tuple[float, float, float]:
    """What was read, what the others make of it, and how sure: for a roll, the difference of its ends."""
    blunder, u = found.blunder(suspect.index)
    read = network.observations[suspect.index].value
    partner = _other_end(network, suspect)
    if partner is not None:
        read -= network.observations[partner].value
    return read, read - blunder, u


def _other_end(network: Network, suspect: Suspect) -> int | None:
    label = suspect.label
    if label.source not in {"roll", "height"}:
        return None
    other = label._replace(side="drive" if label.side == "operator" else "operator")
    found = (i for i, observation in enumerate(network.observations) if observation.label == other)
    return next(found, None)


def _monument_moved(network: Network, suspect: Suspect) -> bool:
    """Whether one shift of the monument between two setups explains more than any wrong reading of it.

    A shift with a single reading before or after it cannot be told from that reading being wrong.
    """
    readings = [
        i
        for i, observation in enumerate(network.observations)
        if observation.label.monument == suspect.label.monument
    ]
    shifts = [abs(_pattern_w(network, readings[cut:])) for cut in range(2, len(readings) - 1)]
    return max(shifts, default=0.0) > max(abs(suspect.w) + 0.5, CRITICAL_W)


def _pattern_w(network: Network, indices: Iterable[int]) -> float:
    """Return the standardised test of one and the same error in several readings; 0 where it cannot show.

    Source: the general form of the w-test, c' W v / sqrt(c' W Q_v W c) (Baarda 1968, from memory).
    """
    chosen = list(indices)
    weights = [1.0 / network.sigmas[i] ** 2 for i in chosen]
    terms: dict[Unknown, float] = {}
    for i, weight in zip(chosen, weights, strict=True):
        for unknown, coefficient in network.observations[i].terms.items():
            terms[unknown] = terms.get(unknown, 0.0) + weight * coefficient
    fit = network.estimate(terms)
    variance = sum(weights) - fit.covariance(fit)
    pull = sum(weight * network.residuals[i] for i, weight in zip(chosen, weights, strict=True))
    return float(pull / np.sqrt(variance)) if variance > 1e-9 * sum(weights) else 0.0
