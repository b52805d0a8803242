"""Conformance probabilities and guard-band risks against the published examples and tables.

JCGM 106:2012, 7.3 and 7.4: data and printed probabilities from memory. ILAC-G8:09/2019, Table 1 and
ISO 14253-1:2017 (default guard band): for U = 2u, a normal spread and one limit in reach.
"""

import pytest

from certgen.assessment.rules import RULES, conformance_probability, risk

# Far beyond reach of the other limit; the unit does not matter.
LIMIT, U = 100.0, 1.0


def risk_at(acceptance: float) -> float:
    """Return the probability that an item found exactly there is truly outside the limit."""
    return 1.0 - conformance_probability(acceptance, U / 2.0, LIMIT)


def last_pass(rule: str, expanded: float) -> float:
    """Return the largest error that the rule still passes, by halving."""
    low, high = 0.0, 2.0 * LIMIT
    for _ in range(100):
        middle = (low + high) / 2.0
        low, high = (middle, high) if RULES[rule](middle, expanded, LIMIT) == "pass" else (low, middle)
    return low


def test_two_sided_probability_agrees_with_the_guide():
    """JCGM 106, 7.4: y = 13.6, u = 1.8, limits 12.5 and 16.3 give 0.66 (0.662 630 unrounded)."""
    middle, half = (12.5 + 16.3) / 2.0, (16.3 - 12.5) / 2.0
    found = conformance_probability(13.6 - middle, 1.8, half)
    assert round(found, 2) == 0.66
    assert found == pytest.approx(0.6626297864953078, rel=1e-12)


def test_one_sided_probability_agrees_with_the_guide():
    """JCGM 106, 7.3: y = 509.7, u = 8.6, lower limit 490 gives 0.99 (0.989 010 unrounded)."""
    half = 1e4  # the other limit far away
    found = conformance_probability(509.7 - (490.0 + half), 8.6, half)
    assert round(found, 2) == 0.99
    assert found == pytest.approx(0.9890095473848223, rel=1e-12)


@pytest.mark.parametrize(
    ("probability", "z"),
    [(0.80, 0.841621), (0.90, 1.281552), (0.95, 1.644854), (0.99, 2.326348), (0.999, 3.090232)],
)
def test_one_sided_probability_inverts_the_normal_distribution(probability, z):
    """JCGM 106, Table 1, its z to six decimals as handbooks print them (from memory)."""
    assert conformance_probability(LIMIT - z, 1.0, LIMIT) == pytest.approx(probability, abs=2e-7)


@pytest.mark.parametrize(
    ("multiple", "at_most", "risk"),
    [
        (3.0, 1e-6, 9.865877004244794e-10),
        (1.5, 0.0016, 0.0013498980316301035),
        (1.0, 0.025, 0.02275013194817921),
        (0.83, 0.05, 0.048457226266722775),
        (0.0, 0.5 + 1e-6, 0.5),
    ],
)
def test_guard_band_has_the_published_risk(multiple, at_most, risk):
    """ILAC-G8 Table 1: with a guard band of r·U, false acceptance at its edge is the stated risk."""
    edge = last_pass("guarded", multiple * U)
    assert edge == pytest.approx(LIMIT - multiple * U, abs=1e-6)
    assert risk_at(edge) == pytest.approx(risk, rel=1e-4)
    assert risk_at(edge) <= at_most


def test_guarded_rule_keeps_false_acceptance_below_two_and_a_half_percent():
    """The rule as shipped uses w = U: at its edge the risk is 2.275 %, ILAC-G8 Table 1."""
    assert risk_at(last_pass("guarded", U)) == pytest.approx(0.02275, abs=1e-5)


def test_simple_rule_has_even_risk_at_its_edge():
    """ILAC-G8 Table 1, simple acceptance: below 50 %, and 50 % at the limit itself."""
    assert risk_at(last_pass("simple", U)) == pytest.approx(0.5, abs=1e-6)


def test_iso_14253_guard_band_stays_below_five_percent():
    """ISO 14253-1:2017: w = 1.65 u keeps false acceptance below 5 %; 1.64 u would not."""
    assert risk_at(LIMIT - 1.65 * U / 2.0) < 0.05 < risk_at(LIMIT - 1.64 * U / 2.0)


@pytest.mark.parametrize(
    ("error", "verdict"),
    [
        (LIMIT - U, "pass"),
        (LIMIT - U + 1e-6, "conditional pass"),
        (LIMIT, "conditional pass"),
        (LIMIT + 1e-6, "conditional fail"),
        (LIMIT + U, "conditional fail"),
        (LIMIT + U + 1e-6, "fail"),
    ],
)
def test_four_way_rule_has_the_published_edges(error, verdict):
    """ILAC-G8:09/2019, statement with guard band: conditional from TL - w over TL to TL + w."""
    assert RULES["four_way"](error, U, LIMIT) == RULES["four_way"](-error, U, LIMIT) == verdict


@pytest.mark.parametrize(("dof", "t"), [(1, 12.706), (4, 2.776), (10, 2.228), (30, 2.042)])
def test_probability_with_degrees_of_freedom_is_students(dof: float, t: float) -> None:
    """JCGM 100:2008, table G.2: ±t holds 95 % at so many degrees of freedom, more if normal."""
    assert conformance_probability(0.0, 1.0, t, dof) == pytest.approx(0.95, abs=2e-4)
    assert conformance_probability(0.0, 1.0, t) > 0.9585
    assert risk(0.0, 1.0, t, dof) == pytest.approx(0.05, abs=2e-4)


def test_risk_keeps_its_digits_where_conformance_is_one() -> None:
    """Ten standard uncertainties from the limit: 7.62e-24 (normal table), lost in one less conformance."""
    assert 1.0 - conformance_probability(0.0, 1.0, 10.0) == 0.0
    assert risk(90.0, 1.0, 100.0) == pytest.approx(7.619853e-24, rel=1e-6)
