"""Budgets: sensitivities, effective degrees of freedom, repeated readings, drift."""

from dataclasses import replace
from math import inf, sqrt

import pytest

from certgen.network.solution import solve_survey
from certgen.network.uncertainty import Share, budget, coverage_factor, effective_dof, expand
from certgen.survey.survey import Coverage, LevelCheck, StandardUncertainty, Survey
from tests.simulate.records import UNCERTAINTY, read, roll, setup, survey

SPAN_M = 2.1


def line(**changes: object) -> Survey:
    """Return two rolls read once from one setup."""
    seen = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.1))
    return replace(survey((roll("R1"), roll("R2")), (seen,)), **changes)


def shares_of(taken: Survey) -> dict[str, Share]:
    """Return the budget of R2 as found."""
    aspect = solve_survey(taken).parallel
    assert aspect is not None
    return {
        share.source: share
        for share in budget(aspect.network, aspect.slopes["R2", "as_found"], taken.uncertainty)
    }


def test_sensitivity_of_a_roll_against_its_reference() -> None:
    """Two ends each of two rolls over one span: the root of four gains of 1/span."""
    shares = shares_of(line())
    assert shares["seating"].sensitivity == pytest.approx(2.0 / SPAN_M, rel=1e-12)
    assert shares["seating"].u == pytest.approx(0.010 * 2.0 / SPAN_M, rel=1e-12)
    assert sum(share.part for share in shares.values()) == pytest.approx(1.0)


def test_mean_of_repeated_readings_has_less_of_the_repeatability() -> None:
    """Four readings at every end halve it and leave seating and read-out alone (JCGM 100:2008, 4.2.3)."""
    taken = line()
    often = tuple(replace(reading, repeats=(4, 4)) for reading in taken.setups[0].readings)
    fewer = shares_of(replace(taken, setups=(replace(taken.setups[0], readings=often),)))
    once = shares_of(taken)
    assert fewer["repeatability"].u == pytest.approx(once["repeatability"].u / 2.0, rel=1e-12)
    assert fewer["seating"].u == pytest.approx(once["seating"].u, rel=1e-12)


def test_drift_of_a_setup_by_the_first_edition_adds_a_rectangle_for_each_roll() -> None:
    """A head that tilted by 0.06 mm/m: 0.06/√12 for the roll and as much for the reference."""
    taken = line()
    checked = replace(taken.setups[0], level_check=LevelCheck(0.01, 0.07))
    drift = shares_of(replace(taken, setups=(checked,), edition=1))["drift"]
    assert drift.u == pytest.approx(sqrt(2.0) * 0.06 / sqrt(12.0), rel=1e-9)
    # which way it turned is not known, so that each turn is expected to be none
    turned = solve_survey(replace(taken, setups=(checked,), edition=1)).parallel
    assert turned is not None
    turns = [value for unknown, value in turned.network.values.items() if unknown.kind == "drift"]
    assert turns == pytest.approx([0.0, 0.0], abs=1e-12)


def test_level_that_did_not_change_carries_no_drift() -> None:
    """Before and after alike: nothing is added, not even an unknown."""
    taken = line()
    checked = replace(taken.setups[0], level_check=LevelCheck(0.02, 0.02))
    assert "drift" not in shares_of(replace(taken, setups=(checked,)))


def test_coverage_factor_follows_the_effective_degrees_of_freedom() -> None:
    """One source of five degrees of freedom alone: k is 2.57 at 95 % (JCGM 100:2008, Table G.2)."""
    stated = replace(
        UNCERTAINTY,
        coverage=Coverage(None, 0.95),
        reading_mm=None,
        seating_mm=None,
        repeatability_mm=StandardUncertainty(0.008, "normal", "scatter", 5.0),
    )
    solved = solve_survey(line(uncertainty=stated)).parallel
    assert solved is not None
    expanded = expand(solved.network, solved.slopes["R2", "as_found"], stated)
    assert expanded.dof == pytest.approx(5.0)
    assert expanded.k == pytest.approx(2.57, abs=0.005)


def test_sources_that_are_exactly_known_leave_the_degrees_infinite() -> None:
    """Then k is the normal one."""
    assert effective_dof((Share("reading", 1.0, 1.0, 1.0, 1.0, inf),)) == inf
    assert coverage_factor(Coverage(None, 0.95)) == pytest.approx(1.95996, abs=1e-5)
