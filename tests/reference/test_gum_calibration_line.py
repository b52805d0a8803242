"""The calibration line of a thermometer, JCGM 100:2008, H.3, Tables H.6 and H.7.

The printed figures are the guide's; those with more digits are the same sums carried at full precision.
"""

from math import sqrt

import numpy as np
import pytest

from certgen.network.equations import Unknown
from certgen.network.least_squares import Network
from tests.reference.regression import regress, residual_sd

READ_C = (21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511)
CORRECTION_C = (-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160)
REFERENCE_C = 20.0
INTERCEPT, SLOPE = Unknown("coefficient", "B0"), Unknown("coefficient", "B1")


@pytest.fixture(name="line")
def _line() -> Network:
    theta = np.array(READ_C) - REFERENCE_C
    return regress(np.column_stack([np.ones(len(theta)), theta]), CORRECTION_C)


def test_line_has_the_printed_coefficients(line):
    """y1 = -0.1712 °C and y2 = 0.00218, to the digits printed, and to 1e-12 at full precision."""
    assert (round(line.values[INTERCEPT], 4), round(line.values[SLOPE], 5)) == (-0.1712, 0.00218)
    assert line.values[INTERCEPT] == pytest.approx(-0.1712037901313498, rel=1e-12)
    assert line.values[SLOPE] == pytest.approx(0.002182697739887239, rel=1e-12)


def test_line_has_the_printed_scatter(line):
    """The scatter is s = 0.0035 °C at nine degrees of freedom."""
    assert line.degrees_of_freedom == 9
    assert round(residual_sd(line), 4) == 0.0035
    assert line.chi_square == pytest.approx(0.00011009658310929721, rel=1e-10)


def test_line_has_the_printed_deviations_and_correlation(line):
    """The guide prints s(y1) = 0.0029 °C, s(y2) = 0.00067, r = -0.930."""
    first, second = (line.estimate({unknown: 1.0}) for unknown in (INTERCEPT, SLOPE))
    s = residual_sd(line)
    assert (round(s * first.u, 4), round(s * second.u, 5)) == (0.0029, 0.00067)
    assert first.covariance(second) / (first.u * second.u) == pytest.approx(-0.9304296030934458, rel=1e-12)
    assert s**2 * first.covariance(second) == pytest.approx(-1.788340748673917e-06, rel=1e-12)


def test_line_predicts_the_printed_correction_at_30_degrees(line):
    """b(30 °C) = -0.1494 °C with u = 0.0041 °C: the covariance of both coefficients enters."""
    at_30 = line.estimate({INTERCEPT: 1.0, SLOPE: 30.0 - REFERENCE_C})
    u = residual_sd(line) * at_30.u
    assert (round(at_30.value, 4), round(u, 4)) == (-0.1494, 0.0041)
    assert (at_30.value, u) == pytest.approx((-0.14937681273247738, 0.004138595752854948), rel=1e-12)


def test_line_prediction_agrees_with_the_guides_formula(line):
    """u²(b) = u²(y1) + θ² u²(y2) + 2 θ u(y1) u(y2) r, JCGM 100:2008, H.3.4, is what an estimate gives."""
    first, second = (line.estimate({unknown: 1.0}) for unknown in (INTERCEPT, SLOPE))
    by_formula = sqrt(first.u**2 + 100.0 * second.u**2 + 20.0 * first.covariance(second))
    assert line.estimate({INTERCEPT: 1.0, SLOPE: 10.0}).u == pytest.approx(by_formula, rel=1e-12)
