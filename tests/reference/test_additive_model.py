"""JCGM 101:2008, clause 9.2 (additive model) by the engine's own draws, and the verdict of clause 8.

Y = X1 + X2 + X3 + X4 with every X of mean 0. The inputs are the four sources of one reading; the network that
is drawn has just that reading. Printed figures from memory, recomputed here: the law of Irwin and Hall gives
the ends of the interval for four equal rectangles (9.2.3 prints ±3.88), a convolution those of 9.2.4.
"""

from dataclasses import replace
from math import pi, sin, sqrt
from statistics import NormalDist

import numpy as np
import pytest

from certgen.assessment.assess import assess
from certgen.assessment.budgets import draw, propagate
from certgen.network.equations import Label, Observation, Unknown, roll_block
from certgen.network.least_squares import Estimate, solve
from certgen.network.solution import Aspect, Key, solve_survey
from certgen.survey.survey import Coverage, StandardUncertainty, Uncertainties
from tests.simulate.records import levelled, roll, survey, tilt

SLOPE = Unknown("slope", "R1", "as_found", roll_block("R1"))
SOURCES = ("reading", "repeatability", "seating", "level")
TRIALS = 200_000


def stated(shape: str, *sizes: float) -> Uncertainties:
    """Return as many sources of this shape with these standard uncertainties."""
    given = (StandardUncertainty(size, shape, "stated") for size in sizes)
    return Uncertainties(Coverage(None, 0.95), *given)


def reading_of(sources: Uncertainties) -> Aspect:
    """Return one reading of one slope with these sources, solved."""
    values = (
        sources.reading_mm,
        sources.repeatability_mm,
        sources.seating_mm,
        sources.level_mm_per_m,
    )
    parts = {name: one.value**2 for name, one in zip(SOURCES, values, strict=True) if one is not None}
    row = Observation({SLOPE: 1.0}, 0.0, sqrt(sum(parts.values())), Label("level"), parts)
    network = solve([row])
    slopes: dict[Key, Estimate] = {("R1", "as_found"): network.estimate({SLOPE: 1.0})}
    return Aspect(network, slopes, slopes)


def verdict(sources: Uncertainties, trials: int = TRIALS) -> tuple[float, float, bool]:
    """Return the ends of the drawn interval and whether the linear one is validated."""
    read = assess(solve_survey(survey((roll("R1"),), level=levelled(tilt("R1", 0.0)))))
    drawn = replace(
        read,
        survey=replace(read.survey, uncertainty=sources),
        solution=replace(read.solution, parallel=None, level=reading_of(sources)),
    )
    (found,) = propagate(drawn, trials, seed=1).slopes
    assert (found.low, found.high) == pytest.approx(
        (-1.95996 * found.drawn.u, 1.95996 * found.drawn.u), rel=0.01
    )
    return found.drawn.low, found.drawn.high, found.validated


def test_four_normal_inputs() -> None:
    """9.2.2: u = 2.0, interval ±3.92 by both ways, validated."""
    low, high, validated = verdict(stated("normal", 1.0, 1.0, 1.0, 1.0))
    assert (low, high) == pytest.approx((-3.92, 3.92), abs=0.03)
    assert validated


def test_four_equal_rectangles() -> None:
    """9.2.3: u = 2.0, ends at ±2√3 (2 − (3/5)^(1/4)) = ±3.88 beside ±3.92: apart by less than δ = 0.05."""
    end = 2.0 * sqrt(3.0) * (2.0 - 0.6**0.25)
    assert end == pytest.approx(3.88, abs=0.005)
    # so many draws leave ends so well known that a tolerance of one more digit would not hold
    low, high, validated = verdict(stated("rectangular", 1.0, 1.0, 1.0, 1.0), 1_000_000)
    assert (low, high) == pytest.approx((-end, end), abs=0.02)
    assert validated


def test_one_rectangle_ten_times_as_wide() -> None:
    """9.2.4: u = 10.1, ends at ±17.0 beside ±19.9: apart by far more than δ = 0.5, not validated."""
    end = convolved_end(10.0)
    assert end == pytest.approx(17.0, abs=0.05)
    sources = stated("rectangular", 1.0, 1.0, 1.0, 10.0)
    low, high, validated = verdict(sources)
    assert (low, high) == pytest.approx((-end, end), abs=0.06)
    assert not validated
    assert reading_of(sources).slopes["R1", "as_found"].u == pytest.approx(10.149, abs=0.001)


def convolved_end(wide: float) -> float:
    """Return the 97.5 % point of three rectangles of u = 1 and one of u = `wide`, on a grid of 0.002."""
    step = 0.002
    density = np.ones(1)
    for u in (1.0, 1.0, 1.0, wide):
        half = round(u * sqrt(3.0) / step)
        density = np.convolve(density, np.full(2 * half + 1, 1.0 / (2 * half + 1)))
    places = (np.arange(len(density)) - len(density) // 2) * step
    return float(np.interp(0.975, np.cumsum(density), places))


@pytest.mark.parametrize(
    ("shape", "divisor", "share"),
    [
        ("rectangular", sqrt(3.0), 0.95),
        ("triangular", sqrt(6.0), 1.0 - sqrt(0.05)),
        ("u_shaped", sqrt(2.0), sin(0.475 * pi)),
    ],
)
def test_one_source_has_the_width_and_shape_that_were_stated(
    shape: str, divisor: float, share: float
) -> None:
    """JCGM 101, 6.4: a half width of 3 is never passed, and the 95 % interval ends at a known share of it."""
    half, sources = 3.0, stated(shape, 3.0 / divisor, 1e-9, 1e-9, 1e-9)
    aspect = reading_of(sources)
    ((_, drawn),) = draw(aspect, sources, TRIALS, 0.95, seed=2).items()
    assert drawn.u == pytest.approx(half / divisor, rel=0.005)
    assert (drawn.low, drawn.high) == pytest.approx((-share * half, share * half), rel=0.01)
    ((_, nearly_all),) = draw(aspect, sources, TRIALS, 1.0, seed=2).items()
    assert 0.99 * half < nearly_all.high <= half + 1e-6
    assert -half - 1e-6 <= nearly_all.low < -0.99 * half


def test_normal_source_is_normal() -> None:
    """Its 99.73 % interval ends at three standard uncertainties."""
    sources = stated("normal", 1.0, 1e-9, 1e-9, 1e-9)
    probability = 2.0 * NormalDist().cdf(3.0) - 1.0
    ((_, drawn),) = draw(reading_of(sources), sources, TRIALS, probability, seed=3).items()
    assert (drawn.low, drawn.high) == pytest.approx((-3.0, 3.0), abs=0.06)
