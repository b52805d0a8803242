"""Tables of handbooks against the distributions that the program uses.

NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4 (upper-tail critical values of chi-square) and
1.3.6.7.1 (area under the standard normal from 0 to z); both tables from memory, to their last digit.
JCGM 100:2008, G.4.1 (worked example), G.4.2 and Table G.2 (whole).
"""

from math import exp, factorial, inf, pi, sqrt

import pytest

from certgen.assessment.rules import conformance_probability
from certgen.network.equations import Label, Observation, Unknown, roll_block
from certgen.network.least_squares import solve
from certgen.network.quality import Quality, quality
from certgen.network.uncertainty import Share, coverage_factor, effective_dof, end_scatter
from certgen.survey.survey import Coverage

# degrees of freedom: critical values at 10 %, 5 %, 1 % and 0.1 %
CHI_SQUARE = {
    1: (2.706, 3.841, 6.635, 10.828),
    2: (4.605, 5.991, 9.210, 13.816),
    3: (6.251, 7.815, 11.345, 16.266),
    4: (7.779, 9.488, 13.277, 18.467),
    5: (9.236, 11.070, 15.086, 20.515),
    6: (10.645, 12.592, 16.812, 22.458),
    7: (12.017, 14.067, 18.475, 24.322),
    8: (13.362, 15.507, 20.090, 26.125),
    9: (14.684, 16.919, 21.666, 27.877),
    10: (15.987, 18.307, 23.209, 29.588),
    20: (28.412, 31.410, 37.566, 45.315),
    30: (40.256, 43.773, 50.892, 59.703),
    50: (63.167, 67.505, 76.154, 86.661),
}
# z: area from 0 to z
NORMAL = {
    0.00: 0.00000,
    0.25: 0.09871,
    0.50: 0.19146,
    1.00: 0.34134,
    1.28: 0.39973,
    1.50: 0.43319,
    1.64: 0.44950,
    1.65: 0.45053,
    1.96: 0.47500,
    2.00: 0.47725,
    2.33: 0.49010,
    2.58: 0.49506,
    3.00: 0.49865,
}
COLUMNS = (0.6827, 0.90, 0.95, 0.9545, 0.99, 0.9973)
# Table G.2: t for each probability above
TABLE_G2 = {
    1: (1.84, 6.31, 12.71, 13.97, 63.66, 235.78),
    2: (1.32, 2.92, 4.30, 4.53, 9.92, 19.21),
    3: (1.20, 2.35, 3.18, 3.31, 5.84, 9.22),
    4: (1.14, 2.13, 2.78, 2.87, 4.60, 6.62),
    5: (1.11, 2.02, 2.57, 2.65, 4.03, 5.51),
    6: (1.09, 1.94, 2.45, 2.52, 3.71, 4.90),
    7: (1.08, 1.89, 2.36, 2.43, 3.50, 4.53),
    8: (1.07, 1.86, 2.31, 2.37, 3.36, 4.28),
    9: (1.06, 1.83, 2.26, 2.32, 3.25, 4.09),
    10: (1.05, 1.81, 2.23, 2.28, 3.17, 3.96),
    11: (1.05, 1.80, 2.20, 2.25, 3.11, 3.85),
    12: (1.04, 1.78, 2.18, 2.23, 3.05, 3.76),
    13: (1.04, 1.77, 2.16, 2.21, 3.01, 3.69),
    14: (1.04, 1.76, 2.14, 2.20, 2.98, 3.64),
    15: (1.03, 1.75, 2.13, 2.18, 2.95, 3.59),
    16: (1.03, 1.75, 2.12, 2.17, 2.92, 3.54),
    17: (1.03, 1.74, 2.11, 2.16, 2.90, 3.51),
    18: (1.03, 1.73, 2.10, 2.15, 2.88, 3.48),
    19: (1.03, 1.73, 2.09, 2.14, 2.86, 3.45),
    20: (1.03, 1.72, 2.09, 2.13, 2.85, 3.42),
    25: (1.02, 1.71, 2.06, 2.11, 2.79, 3.33),
    30: (1.02, 1.70, 2.04, 2.09, 2.75, 3.27),
    35: (1.01, 1.69, 2.03, 2.07, 2.72, 3.23),
    40: (1.01, 1.68, 2.02, 2.06, 2.70, 3.20),
    45: (1.01, 1.68, 2.01, 2.06, 2.69, 3.18),
    50: (1.01, 1.68, 2.01, 2.05, 2.68, 3.16),
    100: (1.005, 1.660, 1.984, 2.025, 2.626, 3.077),
}
INFINITE = (1.000, 1.645, 1.960, 2.000, 2.576, 3.000)


def proof(dof: int, chi_square: float) -> Quality:
    """Return the proof of one unknown read dof + 1 times, so scattered that chi-square comes to this."""
    unknown = Unknown("slope", "R1", "as_found", roll_block("R1"))
    # two readings apart, the others at their middle: the sum of squares is half the distance squared
    apart = sqrt(2.0 * chi_square)
    values = [apart / 2.0, -apart / 2.0] + [0.0] * (dof - 1)
    return quality(solve([Observation({unknown: 1.0}, value, 1.0, Label("level")) for value in values]))


@pytest.mark.parametrize("dof", sorted(CHI_SQUARE))
def test_probability_of_chi_square_is_that_of_the_table(dof: int) -> None:
    """Between the probabilities of the tabled value one unit of its last digit up and down."""
    for critical, probability in zip(CHI_SQUARE[dof], (0.10, 0.05, 0.01, 0.001), strict=True):
        found = proof(dof, critical)
        assert (found.dof, found.chi_square) == (dof, pytest.approx(critical, rel=1e-9))
        low, high = proof(dof, critical + 0.001).p_value, proof(dof, critical - 0.001).p_value
        assert low is not None
        assert high is not None
        assert low < probability < high


@pytest.mark.parametrize("dof", [2, 4, 10])
def test_probability_of_even_degrees_is_a_sum(dof: int) -> None:
    """exp(-x/2) times the sum of (x/2)^k / k! below dof/2, in closed form."""
    for x in (0.5, 3.0, 12.0):
        expected = exp(-x / 2.0) * sum((x / 2.0) ** k / factorial(k) for k in range(dof // 2))
        assert proof(dof, x).p_value == pytest.approx(expected, rel=1e-9)


@pytest.mark.parametrize("z", sorted(NORMAL))
def test_conformance_against_one_limit_is_that_of_the_table(z: float) -> None:
    """The limit z standard uncertainties away: a half and the tabled area; beyond it, what is left."""
    u, limit = 0.01, 10.0
    assert conformance_probability(limit - z * u, u, limit) == pytest.approx(0.5 + NORMAL[z], abs=5.1e-6)
    assert conformance_probability(limit + z * u, u, limit) == pytest.approx(0.5 - NORMAL[z], abs=5.1e-6)


@pytest.mark.parametrize("z", sorted(NORMAL))
def test_conformance_between_both_limits_is_that_of_the_table(z: float) -> None:
    """In the middle between limits z standard uncertainties away on both sides: twice the tabled area."""
    if z:
        assert conformance_probability(0.0, 0.02, 0.02 * z) == pytest.approx(2.0 * NORMAL[z], abs=1.02e-5)


@pytest.mark.parametrize("dof", sorted(TABLE_G2))
def test_coverage_factor_is_that_of_the_whole_table_g2(dof: int) -> None:
    """Every column, to the last digit printed."""
    for probability, printed in zip(COLUMNS, TABLE_G2[dof], strict=True):
        digit = 0.0005 if dof == 100 else 0.005
        # the probabilities are rounded themselves (68.27 %): at one degree of freedom that shows
        found = coverage_factor(Coverage(None, probability), float(dof))
        assert found == pytest.approx(printed, abs=1.05 * digit, rel=2e-4), (probability, found)


def test_coverage_factor_without_end_is_the_normal_one() -> None:
    """The last line of Table G.2."""
    found = [coverage_factor(Coverage(None, probability)) for probability in COLUMNS]
    assert found == pytest.approx(INFINITE, abs=0.0006)


def test_end_of_a_drawn_interval_scatters_as_a_sample_quantile() -> None:
    """√(p (1 - p)/n) over the density: normal 0.058 445 at 1.96, at one degree of freedom 1/(π (1 + t²))."""
    root = sqrt(0.025 * 0.975 / 10_000)
    assert end_scatter(0.95, inf, 10_000) == pytest.approx(root / 0.058445, rel=1e-5)
    assert end_scatter(0.95, 1.0, 10_000) == pytest.approx(root * pi * (1.0 + 12.7062**2), rel=1e-4)


def test_effective_degrees_of_freedom_of_the_example() -> None:
    """G.4.1: 0.25 %, 0.57 % and 0.82 % of 10, 5 and 15 readings give 1.03 %, dof 19 and U95 = 2.2 %."""
    readings = ((0.25, 10), (0.57, 5), (0.82, 15))
    shares = tuple(Share(str(u), u, 1.0, u, 0.0, n - 1.0) for u, n in readings)
    u, dof = sqrt(sum(share.u**2 for share in shares)), effective_dof(shares)
    assert u == pytest.approx(1.03, abs=0.005)
    assert dof == pytest.approx(19.0, abs=0.05)
    k = coverage_factor(Coverage(None, 0.95), float(round(dof)))
    assert k == pytest.approx(2.09, abs=0.005)
    assert k * u == pytest.approx(2.2, abs=0.05)


def test_doubt_about_an_uncertainty_is_worth_degrees_of_freedom() -> None:
    """G.4.2: an uncertainty known to 25 % has half of 0.25 to the power -2, dof 8, and k95 2.31."""
    dof = 0.5 * 0.25**-2
    assert dof == 8.0
    assert effective_dof((Share("doubted", 1.0, 1.0, 1.0, 1.0, dof),)) == pytest.approx(8.0)
    assert coverage_factor(Coverage(None, 0.95), dof) == pytest.approx(2.31, abs=0.005)
