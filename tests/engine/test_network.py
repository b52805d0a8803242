"""The solver itself: known truth, rank defects, linear functions and the budget."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.errors import CannotCompute, RankDefect
from certgen.network.equations import Label, Observation, Unknown, sigma
from certgen.network.least_squares import known, solve
from certgen.network.solution import solve_survey
from certgen.network.uncertainty import budget
from certgen.survey.survey import Reference
from tests.reference import networks
from tests.simulate.lines import draw, stating
from tests.simulate.records import EXAMPLES

A, B, C = (Unknown("shared", name) for name in "abc")
X, Y = Unknown("local", "x", block="x"), Unknown("local", "y", block="y")


def equation(value: float, sigma: float = 1.0, **terms: float) -> Observation:
    """Return one equation in a, b, c (shared), x and y (of their own blocks)."""
    unknowns = {"a": A, "b": B, "c": C, "x": X, "y": Y}
    return Observation({unknowns[name]: c for name, c in terms.items()}, value, sigma, Label("reading"))


@EXAMPLES
@given(seed=st.integers(0, 10**6))
def test_network_recovers_a_known_truth(seed):
    """Readings made from known values give them back."""
    truth = dict(zip(networks.unknowns(), np.random.default_rng(seed).normal(size=14), strict=True))
    rows = (
        row._replace(value=sum(c * truth[unknown] for unknown, c in row.terms.items()))
        for row in networks.draw(seed)
    )
    assert solve(rows).values == pytest.approx(truth, rel=1e-7, abs=1e-9)


@EXAMPLES
@given(seed=st.integers(0, 10**6), change=st.floats(-1.0, 1.0))
def test_estimate_moves_with_a_reading_as_its_gain_says(seed, change):
    """Finite differences: moving one reading moves an estimate by covariance with its fit over variance."""
    rows = networks.draw(seed)
    network, wanted = solve(rows), {networks.local("b0")[0]: 1.0}
    before = network.estimate(wanted)
    gain = before.covariance(network.fits[3]) / rows[3].sigma ** 2
    rows[3] = rows[3]._replace(value=rows[3].value + change)
    assert solve(rows).estimate(wanted).value - before.value == pytest.approx(gain * change, abs=1e-9)


def test_estimates_at_once_are_the_estimates_one_by_one():
    """Many functions at once give what each gives alone."""
    network = solve(networks.draw(1))
    functions = [{one: 1.0, networks.SHARED[0]: -0.5} for one in networks.unknowns()[4:]]
    for together, terms in zip(network.estimates(functions), functions, strict=True):
        alone = network.estimate(terms)
        assert (together.value, together.u) == pytest.approx((alone.value, alone.u), rel=1e-12)


def test_estimate_less_itself_is_exactly_known():
    """What two estimates share cancels."""
    network = solve(networks.draw(2))
    one = network.estimate({networks.local("b1")[0]: 1.0})
    assert ((one - one).value, (one - one).u) == (0.0, 0.0)


def test_known_value_adds_no_uncertainty():
    """A difference to an exact value has the u of the estimate, and a shift does not change it."""
    network = solve(networks.draw(3))
    one = network.estimate({networks.local("b1")[0]: 1.0})
    exact = known(0.5, len(networks.SHARED))
    assert exact.u == 0.0
    assert (one - exact).u == one.shifted(3.0).u == one.u
    assert one.shifted(3.0).value == one.value + 3.0


def test_network_without_shared_unknowns_solves():
    """Blocks alone: each is its own weighted mean."""
    network = solve([equation(1.0, x=1.0), equation(3.0, x=1.0), equation(5.0, 0.5, y=2.0)])
    assert network.values == pytest.approx({X: 2.0, Y: 2.5})
    assert network.estimate({Y: 1.0}).u == pytest.approx(0.25)


def test_coefficients_of_any_size_are_told_from_none():
    """What counts is a column against itself, not against the others: a is 2 / 1e-13 and b is 3."""
    network = solve([equation(2.0, a=1e-13), equation(3.0, b=1.0), equation(5.0, a=1e-13, b=1.0)])
    assert network.values == pytest.approx({A: 2e13, B: 3.0})


@pytest.mark.parametrize("parts", [{}, {"reading": 0.0}, {"reading": 0.0, "seating": 0.0}])
def test_reading_without_any_uncertainty_is_refused(parts):
    """It would outweigh all others without end; the sources that came to nothing are named."""
    named = ", ".join(parts) or "the readings"
    with pytest.raises(CannotCompute, match=f"uncertainties of {named} add up to zero"):
        sigma(parts)
    assert sigma({"reading": 9.0, "seating": 16.0}) == 5.0


def test_rank_defect_names_what_is_free():
    """Only b - c is read: both are named, a is not."""
    with pytest.raises(RankDefect) as refused:
        solve([equation(1.0, a=1.0), equation(1.0, b=1.0, c=-1.0), equation(0.0, a=1.0, b=1.0, c=-1.0)])
    assert set(refused.value.free) == {B, C}


def test_rank_defect_of_a_block_names_its_unknown():
    """A block whose unknown meets only a zero coefficient."""
    with pytest.raises(RankDefect) as refused:
        solve([equation(1.0, a=1.0), equation(1.0, a=1.0, x=0.0)])
    assert refused.value.free == (X,)


def test_rank_defect_of_too_few_equations_names_what_is_free():
    """One equation for two unknowns."""
    with pytest.raises(RankDefect) as refused:
        solve([equation(1.0, a=1.0, b=1.0)])
    assert set(refused.value.free) == {A, B}


def test_observation_of_two_blocks_is_refused():
    """Blocks are joined by shared unknowns only."""
    with pytest.raises(ValueError, match="one block only"):
        solve([equation(1.0, x=1.0, y=1.0)])


@pytest.mark.parametrize("reference", [Reference("R1"), Reference(None, ("M1", "M3"))], ids=["roll", "line"])
def test_budget_sums_to_the_variance(reference):
    """The contributions of all sources of every slope sum to the square of its u."""
    survey = draw(np.random.default_rng(4), reference).survey(np.random.default_rng(5))
    solved = solve_survey(stating(survey, 0.01))
    for aspect in (solved.parallel, solved.level):
        for slope in aspect.slopes.values():
            parts = {
                share.source: share.u**2 for share in budget(aspect.network, slope, solved.survey.uncertainty)
            }
            assert sum(parts.values()) == pytest.approx(slope.u**2, rel=1e-9, abs=1e-18)
