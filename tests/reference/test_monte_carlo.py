"""Propagation of distributions (JCGM 101:2008) as an independent test of the linear propagation."""

from dataclasses import replace

import numpy as np
import pytest

from certgen.assessment.assess import assess
from certgen.assessment.budgets import draw, propagate
from certgen.network.solution import solve_survey
from certgen.survey.survey import Coverage, LevelCheck, StandardUncertainty, Survey
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


def known_by(dof: float, coverage: Coverage) -> Survey:
    """Return the line with a scatter that outweighs all else and is known by so many degrees of freedom."""
    scatter = StandardUncertainty(0.5, "normal", "standard 0.5 mm", dof)
    return line(uncertainty=replace(UNCERTAINTY, repeatability_mm=scatter, coverage=coverage))


def test_interval_with_degrees_of_freedom_is_validated() -> None:
    """U = k u with k from Student's t is what the draws come to, not 1.96 u (JCGM 101:2008, 6.4.9).

    At 4 degrees of freedom t is 2.776 for 95 % (JCGM 100:2008, table G.2).
    """
    found = propagate(assess(solve_survey(known_by(4.0, Coverage(None, 0.95)))), 40_000, seed=5)
    slopes = solve_survey(known_by(4.0, Coverage(None, 0.95))).parallel.slopes
    for one in found.slopes:
        u = slopes[one.roll, one.round].u
        assert one.validated
        if one.roll != "R1":
            assert (one.high - one.low) / 2.0 == pytest.approx(2.776 * u, rel=0.02)
            assert (one.drawn.high - one.drawn.low) / 2.0 == pytest.approx(2.776 * u, rel=0.05)


def test_stated_factor_that_covers_less_is_found_out() -> None:
    """Printed is k = 2, and at 4 degrees of freedom it does not cover the 95 % of a normal error."""
    found = propagate(assess(solve_survey(known_by(4.0, Coverage(2.0, None)))), 40_000, seed=5)
    moved = [one for one in found.slopes if one.roll != "R1"]
    assert not any(one.validated for one in moved)
    assert all(one.drawn.high > one.high for one in moved)


def test_setup_that_turned_is_drawn_as_it_is_estimated() -> None:
    """What the level checks tell is drawn as well, though the survey states nothing of it.

    The standard deviation agrees within four times its own scatter, and is larger than without the turn.
    """
    turned = line(setups=(replace(line().setups[0], level_check=LevelCheck(0.0, 0.06)),))
    still = line(setups=(line().setups[0],))
    solved, bare = solve_survey(turned).parallel, solve_survey(still).parallel
    assert solved is not None
    assert bare is not None
    drawn = draw(solved, UNCERTAINTY, 40_000, 0.95, seed=3)["R2", "as_found"]
    u = solved.slopes["R2", "as_found"].u
    assert u > 1.5 * bare.slopes["R2", "as_found"].u
    assert drawn.u == pytest.approx(u, rel=4.0 / (2 * 40_000) ** 0.5)


@pytest.mark.parametrize("trials", [2, 1999, 2000, 2001, 4500])
def test_as_many_draws_are_made_as_were_asked_for(trials: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """In batches, the last of them as small as is left: so many values have their quantiles taken."""
    seen, quantile = [], np.quantile

    def noted(values: np.ndarray, *rest: object, **more: object) -> object:
        seen.append(len(values))
        return quantile(values, *rest, **more)

    monkeypatch.setattr(np, "quantile", noted)
    draw(solve_survey(line()).parallel, UNCERTAINTY, trials, 0.95, seed=3)
    assert seen == [trials]
