"""What a span of web bears: the beam's formulas against figures worked independently, and a numerical beam.

The tabled figures were worked from the general solution of y'''' = K² y'' with y(0) = y'(0) = 0, y'(L) = θ,
y''(L) = 0, before and apart from this program.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from certgen.assessment.web_limit import critical_slope, exact_angle, lateral_shift, shift_mm, stiffness
from certgen.survey.survey import Web
from tests.simulate.records import EXAMPLES

WEB = Web(1500.0, 0.02, 0.14, 3500.0, {"R2": 4500.0})  # strain 0.002


@pytest.mark.parametrize(
    ("strain", "slenderness", "exact", "simple"),
    [
        (0.001, 1, 0.0009990012, 0.001),
        (0.001, 3, 0.002973288, 0.003),
        (0.001, 10, 0.009107008, 0.01),
        (0.002, 5, 0.009528283, 0.01),
    ],
)
def test_critical_angle_is_that_of_the_beam(strain, slenderness, exact, simple):
    """Exact and simple, to the seven digits of the table."""
    assert exact_angle(strain, slenderness) == pytest.approx(exact, rel=5e-7)
    assert strain * slenderness == pytest.approx(simple, rel=1e-12)


@pytest.mark.parametrize(
    ("stiffness_kl", "share"), [(0.0, 2.0 / 3.0), (1.0, 0.677394), (2.0, 0.705513), (5.0, 0.810946)]
)
def test_web_runs_aside_as_the_beam_does(stiffness_kl, share):
    """y(L) / (θ L), to the six digits of the table."""
    assert lateral_shift(stiffness_kl) == pytest.approx(share, abs=5e-7)


def test_web_runs_aside_without_a_jump_where_the_series_ends():
    """Series and formula meet; the stiffest span runs aside by nearly all of θ L."""
    assert lateral_shift(0.01 - 1e-9) == pytest.approx(lateral_shift(0.01), rel=1e-9)
    assert lateral_shift(1e6) == pytest.approx(1.0, abs=2e-6)


def beam(stiffness_kl: float) -> tuple[float, float]:
    """Return y''(0) L/θ and y(L)/(θ L) from the boundary conditions as a linear system."""
    k = stiffness_kl
    # y = a + b x + c cosh kx + d sinh kx on 0..1
    rows = [
        [1.0, 0.0, 1.0, 0.0],
        [0.0, 1.0, 0.0, k],
        [0.0, 1.0, k * np.sinh(k), k * np.cosh(k)],
        [0.0, 0.0, k**2 * np.cosh(k), k**2 * np.sinh(k)],
    ]
    a, b, c, d = np.linalg.solve(rows, [0.0, 0.0, 1.0, 0.0])
    return k**2 * c, a + b + c * np.cosh(k) + d * np.sinh(k)


@EXAMPLES
@given(strain=st.floats(1e-4, 2e-2), slenderness=st.floats(0.5, 12.0))
def test_formulas_solve_the_boundary_conditions(strain, slenderness):
    """At the critical angle half the width times the curvature at the roll before is the strain."""
    k = stiffness(strain, slenderness)
    bend, aside = beam(k)
    edge = exact_angle(strain, slenderness) * bend / slenderness / 2.0
    assert edge == pytest.approx(strain, rel=1e-6)
    assert lateral_shift(k) == pytest.approx(aside, rel=1e-6)


@EXAMPLES
@given(strain=st.floats(1e-5, 5e-2), slenderness=st.floats(0.05, 20.0))
def test_exact_angle_is_never_the_larger(strain, slenderness):
    """They part by about strain x (span/width)², and never by more."""
    apart = 1.0 - exact_angle(strain, slenderness) / (strain * slenderness)
    assert -1e-12 <= apart <= strain * slenderness**2 + 1e-12


def test_critical_slope_is_in_mm_per_m():
    """Strain 0.002, span three widths: 6 mm/m; the exact one a little less."""
    found = critical_slope(WEB, "R2")
    assert found is not None
    assert (found.span_mm, found.simple_mm_per_m) == (4500.0, pytest.approx(6.0))
    x2 = 3.0 * 0.002 * 3.0**2
    series = 1.0 - x2 / 3.0 + 2.0 * x2**2 / 15.0 - 17.0 * x2**3 / 315.0  # tanh(x)/x
    assert found.exact_mm_per_m == pytest.approx(6.0 * series, rel=1e-6)


def test_critical_slope_needs_a_span():
    """A roll whose span is not stated has none."""
    assert critical_slope(WEB, "R1") is None


def test_shift_is_two_thirds_of_slope_and_span():
    """0.1 mm/m over 4.5 m: 0.3 mm, and a little more for the stiffness of the span."""
    assert shift_mm(WEB, 4500.0, 0.1) == pytest.approx(0.3, rel=0.01)
    assert shift_mm(WEB, 4500.0, 0.1) > 0.3
    assert shift_mm(WEB, 4500.0, -0.1) == -shift_mm(WEB, 4500.0, 0.1)
