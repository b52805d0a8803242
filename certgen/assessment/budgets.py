"""The uncertainty budget of every roll, and the stated intervals against draws (JCGM 101:2008).

Every source of every reading is drawn from its own distribution; the estimates follow through their gains,
which do not depend on the readings, so one draw costs one product.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import floor, isinf, log10, pi, sqrt
from statistics import NormalDist

import numpy as np
from numpy.random import Generator, default_rng

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment
from certgen.network.least_squares import Array, Network
from certgen.network.solution import Aspect, Key
from certgen.network.uncertainty import (
    Share,
    budget,
    coverage_factor,
    effective_dof,
    end_scatter,
    expand,
    statements,
)
from certgen.survey.survey import ROUNDS, Round, Uncertainties

_BATCH = 2000
_NORMAL = NormalDist()


@dataclass(frozen=True, slots=True)
class RollBudget:
    """What makes up `u` (mm/m) of one roll: shares by falling size, effective degrees of freedom, `k`."""

    roll: str
    u: float
    k: float
    dof: float
    shares: tuple[Share, ...]


def roll_budgets(assessment: Assessment, name: AspectName) -> list[RollBudget]:
    """Return the budgets of all rolls that were read, in web order; the exactly known reference has none."""
    aspect = assessment.solution.aspect(name)
    if aspect is None:
        return []
    latest = {roll: aspect.judged[roll, which] for which in ROUNDS for roll, w in aspect.judged if w == which}
    stated = assessment.survey.uncertainty
    made = {
        roll.id: budget(aspect.network, latest[roll.id], stated)
        for roll in assessment.survey.rolls
        if roll.id in latest
    }
    return [_made(assessment, roll, latest[roll].u, shares) for roll, shares in made.items() if shares]


def _made(assessment: Assessment, roll: str, u: float, shares: tuple[Share, ...]) -> RollBudget:
    dof = effective_dof(shares)
    return RollBudget(roll, u, coverage_factor(assessment.survey.uncertainty.coverage, dof), dof, shares)


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
    batches = [(start, min(_BATCH, trials - start)) for start in range(0, trials, _BATCH)]
    errors = np.concatenate(
        [_errors(network, stated, default_rng([seed, start]), size) @ gains.T for start, size in batches]
    )
    values = errors + np.array([aspect.judged[key].value for key in keys])
    tail = (1.0 - probability) / 2.0
    low, high = np.quantile(values, [tail, 1.0 - tail], axis=0)
    summary = (values.mean(axis=0), values.std(axis=0, ddof=1), low, high)
    return {key: Drawn(*(float(column[i]) for column in summary)) for i, key in enumerate(keys)}


def _errors(network: Network, stated: Uncertainties, chance: Generator, size: int) -> Array:
    """Errors of all observations in their unit, shape (size, n): the sum of all sources of each."""
    total = np.zeros((size, len(network.observations)))
    for source, variances in network.sources.items():
        for said, rows in statements(network, stated, source):
            shape = "rectangular" if source == "drift" else "normal" if said is None else said.distribution
            draws = _standard_draws(chance, shape, (size, len(rows))) * np.sqrt(variances[rows])
            # how large a source is against what was stated, shape (size, 1), where that has degrees of
            # freedom. One size for all readings that the statement holds for, so that a sum of them has
            # Student's t with these degrees of freedom, as one alone has (JCGM 101:2008, 6.4.9; JCGM
            # 100:2008, G.3.2)
            total[:, rows] += (
                draws
                if said is None
                else draws
                * (1.0 if isinf(said.dof) else np.sqrt(said.dof / chance.chisquare(said.dof, (size, 1))))
            )
    return total


def _standard_draws(chance: Generator, shape: str, size: tuple[int, int]) -> Array:
    """Draws of mean 0 and standard deviation 1 (JCGM 101:2008, 6.4; arcsine for u_shaped)."""
    if shape == "rectangular":
        return chance.uniform(-sqrt(3.0), sqrt(3.0), size)
    if shape == "triangular":
        return chance.triangular(-sqrt(6.0), 0.0, sqrt(6.0), size)
    if shape == "u_shaped":
        return np.asarray(sqrt(2.0) * np.sin(chance.uniform(-pi, pi, size)))
    return chance.standard_normal(size)


@dataclass(frozen=True, slots=True)
class Compared:
    """One slope: what the draws came to and the interval y ± U that is printed, all in mm/m.

    `validated` says that both ends agree within the numerical tolerance of two significant digits of u, and
    three times the scatter that so many draws leave in an end.
    """

    roll: str
    aspect: AspectName
    round: Round
    drawn: Drawn
    low: float
    high: float
    validated: bool


@dataclass(frozen=True, slots=True)
class Propagation:
    """The comparison of every slope at one coverage probability."""

    trials: int
    seed: int
    probability: float
    slopes: tuple[Compared, ...]


def propagate(assessment: Assessment, trials: int, seed: int) -> Propagation:
    """Draw every slope `trials` times; the same seed gives the same result."""
    coverage = assessment.survey.uncertainty.coverage
    probability = coverage.probability or 2.0 * _NORMAL.cdf(assessment.coverage_factor) - 1.0
    return Propagation(trials, seed, probability, tuple(_compared(assessment, trials, seed, probability)))


def _compared(assessment: Assessment, trials: int, seed: int, probability: float) -> Iterator[Compared]:
    solution, stated = assessment.solution, assessment.survey.uncertainty
    for name in ASPECTS:
        aspect = solution.aspect(name)
        if aspect is None:
            continue
        for (roll, which), drawn in draw(aspect, stated, trials, probability, seed).items():
            slope = aspect.judged[roll, which]
            expanded = expand(aspect.network, slope, stated)
            low, high = slope.value - expanded.U, slope.value + expanded.U
            apart = max(abs(low - drawn.low), abs(high - drawn.high))
            scatter = end_scatter(probability, expanded.dof, trials) * slope.u
            # half of the last of two significant digits of u (JCGM 101:2008, 7.9.2)
            tolerance = 0.0 if slope.u == 0.0 else 0.5 * 10.0 ** (floor(log10(slope.u)) - 1)
            most = tolerance + 3.0 * scatter
            yield Compared(roll, name, which, drawn, low, high, apart <= most)
