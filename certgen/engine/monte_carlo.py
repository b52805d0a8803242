"""Propagation of distributions (JCGM 101:2008): a test of the linear propagation, with the stated shapes.

Every source of every reading is drawn from its own distribution; the estimates follow through their gains,
which do not depend on the readings, so one draw costs one product.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import isinf, pi, sqrt

import numpy as np
from numpy.random import Generator, default_rng

from certgen.engine.budget import statements
from certgen.engine.estimate import Array
from certgen.engine.network import Network
from certgen.engine.solution import Aspect, Key
from certgen.survey.survey import Uncertainties

_BATCH = 2000


@dataclass(frozen=True, slots=True)
class Drawn:
    """What the draws of one slope came to, mm/m: mean, standard deviation, symmetric coverage interval."""

    mean: float
    u: float
    low: float
    high: float


def draw(
    aspect: Aspect, stated: Uncertainties, trials: int, probability: float, seed: int
) -> Mapping[Key, Drawn]:
    """Return, for every slope, what `trials` draws came to; the interval is probabilistically symmetric.

    Source: JCGM 101:2008, clause 7. The same seed gives the same result.
    """
    network, keys = aspect.network, list(aspect.judged)
    gains = np.array([network.gains(aspect.judged[key]) for key in keys])
    errors = np.concatenate(
        [
            _errors(network, stated, default_rng([seed, start]), size) @ gains.T
            for start, size in _batches(trials)
        ]
    )
    values = errors + np.array([aspect.judged[key].value for key in keys])
    tail = (1.0 - probability) / 2.0
    low, high = np.quantile(values, [tail, 1.0 - tail], axis=0)
    summary = (values.mean(axis=0), values.std(axis=0, ddof=1), low, high)
    return {key: Drawn(*(float(column[i]) for column in summary)) for i, key in enumerate(keys)}


def _batches(trials: int) -> list[tuple[int, int]]:
    return [(start, min(_BATCH, trials - start)) for start in range(0, trials, _BATCH)]


def _errors(network: Network, stated: Uncertainties, chance: Generator, size: int) -> Array:
    """Errors of all observations in their unit, shape (size, n): the sum of all sources of each."""
    total = np.zeros((size, len(network.observations)))
    for source, variances in network.sources.items():
        for said, rows in statements(network, stated, source):
            shape = "rectangular" if source == "drift" else "normal" if said is None else said.distribution
            draws = _standard_draws(chance, shape, (size, len(rows))) * np.sqrt(variances[rows])
            total[:, rows] += draws if said is None else draws * _sizes(chance, said.dof, size)
    return total


def _sizes(chance: Generator, dof: float, size: int) -> Array | float:
    """How large a source is against what was stated, shape (size, 1), where that has degrees of freedom.

    One size for all readings that the statement holds for, so that a sum of them has Student's t with these
    degrees of freedom, as one alone has (JCGM 101:2008, 6.4.9; JCGM 100:2008, G.3.2).
    """
    return 1.0 if isinf(dof) else np.sqrt(dof / chance.chisquare(dof, (size, 1)))


def _standard_draws(chance: Generator, shape: str, size: tuple[int, int]) -> Array:
    """Draws of mean 0 and standard deviation 1 (JCGM 101:2008, 6.4; arcsine for u_shaped)."""
    if shape == "rectangular":
        return chance.uniform(-sqrt(3.0), sqrt(3.0), size)
    if shape == "triangular":
        return chance.triangular(-sqrt(6.0), 0.0, sqrt(6.0), size)
    if shape == "u_shaped":
        return np.asarray(sqrt(2.0) * np.sin(chance.uniform(-pi, pi, size)))
    return chance.standard_normal(size)
