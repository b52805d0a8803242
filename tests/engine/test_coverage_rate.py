"""Do the stated uncertainties cover? Thousands of noisy surveys of known lines, seeds fixed.

|error| <= 2u holds in 95.45 % of cases for a normal spread (JCGM 100:2008, Table G.1 at k = 2). An estimate
is linear in the readings, so its gains, taken from the engine, turn any number of draws into errors at once;
that the gains are those of full solutions is shown as well.
"""

from collections.abc import Iterator
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from certgen.network import level, parallel
from certgen.network.equations import Observation
from certgen.network.least_squares import Estimate, Network
from certgen.network.solution import Aspect, Solution, solve_survey
from certgen.survey.survey import ROUNDS, Reference, Survey
from tests.simulate.lines import draw, stating
from tests.simulate.noise import noisy

DRAWS = 4000
REFERENCES = {"roll": Reference("R1"), "line": Reference(None, ("M1", "M3"))}
NAMES = [f"R{number}" for number in range(1, 10)]
FIXED = "R1"  # it cannot be moved


@cache
def exact(name: str) -> tuple[Survey, Solution]:
    """Return an exact survey against a roll or a line, and its solution."""
    rng = np.random.default_rng(1)
    survey = stating(draw(rng, REFERENCES[name]).survey(rng), 0.01)
    return survey, solve_survey(survey)


def gains(network: Network, estimates: list[Estimate]) -> np.ndarray:
    """Return what each reading adds to each estimate, shape (estimates, readings)."""
    covariance = np.array([[one.covariance(fit) for fit in network.fits] for one in estimates])
    return covariance / network.sigmas**2


def drawn(network: Network) -> np.ndarray:
    """Return errors of all readings, shape (draws, readings): the read-out evenly spread, the rest normal."""
    rng = np.random.default_rng(2)
    return np.column_stack([_errors(rng, one) for one in network.observations])


def _errors(rng: np.random.Generator, one: Observation) -> np.ndarray:
    total = np.zeros(DRAWS)
    for source, variance in one.parts.items():
        half = np.sqrt(3.0 * variance)
        total += (
            rng.uniform(-half, half, DRAWS) if source == "reading" else rng.normal(0.0, variance**0.5, DRAWS)
        )
    return total


def slopes(aspect: Aspect) -> Iterator[Estimate]:
    """Yield every slope that is not known by definition."""
    return (slope for slope in aspect.slopes.values() if slope.u > 0.0)


def adjacent(aspect: Aspect) -> Iterator[Estimate]:
    """Yield the difference of each roll to the one before it, as found."""
    for before, after in pairwise(NAMES):
        yield aspect.slopes[after, "as_found"] - aspect.slopes[before, "as_found"]


def change(aspect: Aspect) -> Iterator[Estimate]:
    """Yield as left minus as found of each roll that can move."""
    for name in NAMES:
        if name != FIXED:
            yield aspect.slopes[name, ROUNDS[1]] - aspect.slopes[name, ROUNDS[0]]


@pytest.fixture(
    params=[(name, which) for name in REFERENCES for which in ("parallel", "level")], name="aspect"
)
def _aspect(request: pytest.FixtureRequest) -> Aspect:
    name, which = request.param
    return getattr(exact(name)[1], which)


@pytest.mark.parametrize("name", REFERENCES)
@pytest.mark.parametrize("module", [parallel, level], ids=["parallel", "level"])
def test_gains_are_those_of_full_solutions(name, module):
    """Noisy surveys, solved in full, differ from the exact one by gains times noise."""
    survey, solved = exact(name)
    which = module.__name__.rsplit(".", 1)[-1]
    one, rng = getattr(solved, which), np.random.default_rng(3)
    by = gains(one.network, list(one.slopes.values()))
    for _ in range(3):
        other = noisy(rng, survey)
        noise = [
            a.value - b.value
            for a, b in zip(module.observations(other), one.network.observations, strict=True)
        ]
        after = getattr(solve_survey(other), which).slopes
        moved = [after[key].value - slope.value for key, slope in one.slopes.items()]
        assert moved == pytest.approx(list(by @ noise), abs=1e-10)


@pytest.mark.parametrize("kind", [slopes, adjacent, change])
def test_error_stays_within_two_u_at_the_stated_rate(aspect, kind):
    """95.45 % of errors lie within 2u, for slopes, differences of neighbours and changes alike."""
    ratios = errors_over_u(aspect, list(kind(aspect)))
    assert np.mean(np.abs(ratios) <= 2.0) == pytest.approx(0.9545, abs=0.005)


@pytest.mark.parametrize("kind", [slopes, adjacent, change])
def test_error_over_u_is_spread_by_one(aspect, kind):
    """Error over u has root mean square 1 and mean 0, each on its own and not only on average."""
    ratios = errors_over_u(aspect, list(kind(aspect)))
    assert np.sqrt(np.mean(ratios**2, axis=0)) == pytest.approx(1.0, abs=0.05)
    assert np.mean(ratios, axis=0) == pytest.approx(0.0, abs=0.07)


def errors_over_u(aspect: Aspect, estimates: list[Estimate]) -> np.ndarray:
    """Return error over u, shape (draws, estimates)."""
    errors = drawn(aspect.network) @ gains(aspect.network, estimates).T
    return errors / np.array([one.u for one in estimates])


def test_chi_square_averages_its_degrees_of_freedom(aspect):
    """The weighted square sum of what the fit leaves over is the degrees of freedom, within 3 %."""
    network, noise = aspect.network, drawn(aspect.network)
    left = noise - noise @ gains(network, network.fits).T
    chi_square = np.sum((left / network.sigmas) ** 2, axis=1)
    assert np.mean(chi_square) / network.degrees_of_freedom == pytest.approx(1.0, abs=0.03)


def test_chi_square_of_full_solutions_averages_its_degrees_of_freedom():
    """Sixty noisy surveys, solved in full: the mean lies within four of its standard deviations."""
    survey, rng = exact("roll")[0], np.random.default_rng(4)
    proofs = [solve_survey(noisy(rng, survey)).parallel.quality for _ in range(60)]
    mean = np.mean([proof.chi_square / proof.dof for proof in proofs])
    assert mean == pytest.approx(1.0, abs=4.0 * np.sqrt(2.0 / proofs[0].dof / len(proofs)))
    assert np.mean([proof.p_value < 0.5 for proof in proofs]) == pytest.approx(0.5, abs=0.25)
