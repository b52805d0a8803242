"""The stated intervals against the propagation of distributions (JCGM 101:2008, clause 8)."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import floor, log10
from statistics import NormalDist

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment
from certgen.engine.coverage import end_scatter, expand
from certgen.engine.monte_carlo import Drawn, draw
from certgen.survey.survey import Round

_NORMAL = NormalDist()


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
            most = _tolerance(slope.u) + 3.0 * scatter
            yield Compared(roll, name, which, drawn, low, high, apart <= most)


def _tolerance(u: float) -> float:
    """Half of the last of two significant digits of u (JCGM 101:2008, 7.9.2)."""
    return 0.0 if u == 0.0 else 0.5 * 10.0 ** (floor(log10(u)) - 1)
