"""Finding blunders, over many noisy lines: the planted one is named first, sound lines are left in peace.

Rates follow from the definitions: a reading is named at |w| > 3.29, which a sound one exceeds with the risk
of 0.001 (normal residuals); six times the smallest detectable blunder lies far beyond that.
"""

from functools import cache

import numpy as np
import pytest

from certgen.network import parallel
from certgen.network.equations import Observation
from certgen.network.least_squares import Network, solve
from certgen.network.reliability import SUSPECT_RISK, residuals
from certgen.network.suspects import Suspect, suspects
from certgen.survey.survey import Reference
from tests.simulate.lines import draw, stating

TRIALS = 500
LINES = 1000
REFERENCES = {"roll": Reference("R1"), "line": Reference(None, ("M1", "M3"))}


@cache
def exact(name: str) -> tuple[Observation, ...]:
    """Return the equations of an exact survey of nine rolls from three setups."""
    rng = np.random.default_rng(11)
    return tuple(parallel.observations(stating(draw(rng, REFERENCES[name]).survey(rng), 0.01)))


def noisy(name: str, rng: np.random.Generator) -> list[Observation]:
    """Return the equations with normal noise of their stated size."""
    return [row._replace(value=row.value + rng.normal(0.0, row.sigma)) for row in exact(name)]


def first_of(network: Network) -> Suspect | None:
    """Return the suspect that is named first."""
    return next(iter(suspects(network, residuals(network))), None)


def planted_is_named_first(name: str, seed: int) -> bool:
    """Say whether six times the smallest detectable blunder, in a checked reading, is named first."""
    rng = np.random.default_rng([5, seed])
    rows = noisy(name, rng)
    checked = residuals(solve(exact(name)))
    index = int(rng.choice(np.flatnonzero(checked.redundancy > 0.02)))
    size = 6.0 * checked.detectable[index] * rng.choice([-1.0, 1.0])
    rows[index] = rows[index]._replace(value=rows[index].value + size)
    first = first_of(solve(rows))
    return first is not None and rows[index].label in (first.label, *first.others)


@pytest.mark.parametrize("name", sorted(REFERENCES))
def test_planted_blunder_is_named_first(name: str) -> None:
    """In at least 98 % of the trials."""
    named = sum(planted_is_named_first(name, seed) for seed in range(TRIALS // 2))
    assert named >= 0.98 * (TRIALS // 2)


def test_sound_lines_raise_false_alarms_at_the_stated_rate() -> None:
    """Over a thousand lines, |w| beyond the critical value in one of a thousand checked readings."""
    rng = np.random.default_rng(6)
    network = solve(exact("roll"))
    spread = np.array([row.sigma for row in exact("roll")])
    hat = np.array([network.gains(fit) for fit in network.fits])
    checked = residuals(network).redundancy > 0.02
    noise = rng.normal(0.0, 1.0, (LINES * 20, len(spread))) * spread
    w = ((noise @ hat.T - noise) / (spread * np.sqrt(np.maximum(residuals(network).redundancy, 1e-6))))[
        :, checked
    ]
    rate = float(np.mean(np.abs(w) > 3.2905))
    assert rate == pytest.approx(SUSPECT_RISK, rel=0.15)


def test_smallest_detectable_blunder_is_found_with_its_power() -> None:
    """A blunder of just that size exceeds the critical value in 80 % of the cases."""
    rng = np.random.default_rng(8)
    network = solve(exact("roll"))
    found = residuals(network)
    index = int(np.argmax(found.redundancy))
    fit = network.gains(network.fits[index])
    spread = np.array([row.sigma for row in exact("roll")])
    noise = rng.normal(0.0, 1.0, (LINES * 20, len(spread))) * spread
    noise[:, index] += found.detectable[index]
    w = (noise @ fit - noise[:, index]) / (spread[index] * np.sqrt(found.redundancy[index]))
    assert float(np.mean(np.abs(w) > 3.2905)) == pytest.approx(0.80, abs=0.02)
