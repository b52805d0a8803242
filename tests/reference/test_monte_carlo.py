"""Propagation of distributions (JCGM 101:2008) as an independent test of the linear propagation."""

from dataclasses import replace

import pytest

from certgen.assessment.assess import assess
from certgen.assessment.propagation import propagate
from certgen.engine.monte_carlo import draw
from certgen.engine.solution import solve_survey
from certgen.survey.survey import Coverage, StandardUncertainty, Survey
from tests.simulate.records import UNCERTAINTY, read, roll, setup, survey

MONUMENTS = {"M1": -1000.0, "M2": 4000.0}


def line(**changes: object) -> Survey:
    """Return three rolls over two setups that share two monuments and a roll."""
    seen = {"M1": 0.0, "M2": 0.0}
    setups = (
        setup("A", seen, read("R1", 0.0, 0.0), read("R2", 0.0, 0.1)),
        setup("B", seen, read("R2", 0.0, 0.1), read("R3", 0.0, -0.2)),
    )
    return replace(survey(tuple(map(roll, ("R1", "R2", "R3"))), setups, MONUMENTS), **changes)


def test_draws_have_the_standard_uncertainty_of_the_network() -> None:
    """40,000 draws: the standard deviation agrees within four times its own scatter (u/√(2N))."""
    solved = solve_survey(line()).parallel
    assert solved is not None
    for key, drawn in draw(solved, UNCERTAINTY, 40_000, 0.95, seed=3).items():
        u = solved.slopes[key].u
        assert drawn.u == pytest.approx(u, rel=4.0 / (2 * 40_000) ** 0.5, abs=1e-15)


def test_intervals_of_normal_sources_are_validated() -> None:
    """Linear model, normal sources: both ways agree to two digits of u (JCGM 101:2008, 8.1)."""
    found = propagate(assess(solve_survey(line())), 40_000, seed=5)
    assert found.probability == pytest.approx(0.9545, abs=1e-4)
    assert all(one.validated for one in found.slopes)


def test_one_wide_rectangle_is_found_out() -> None:
    """A slope of four rectangular read-outs is not normal: at 99.9 % the linear interval is too wide."""
    wide = replace(
        UNCERTAINTY,
        coverage=Coverage(None, 0.999),
        repeatability_mm=None,
        seating_mm=None,
        reading_mm=StandardUncertainty(0.05 / 3**0.5, "rectangular", "half width 0.05 mm"),
    )
    taken = line(uncertainty=wide, setups=(line().setups[0],))
    slopes = {one.roll: one for one in propagate(assess(solve_survey(taken)), 200_000, seed=5).slopes}
    assert not slopes["R2"].validated
    assert slopes["R2"].drawn.high < slopes["R2"].high


def test_same_seed_gives_the_same_draws() -> None:
    """And another seed gives others."""
    first, again, other = (propagate(assess(solve_survey(line())), 2_000, seed=s) for s in (7, 7, 8))
    assert first == again
    assert first.slopes != other.slopes
