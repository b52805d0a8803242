"""The slack edge against a numerical solution of the beam equation, which shares nothing with the formulas.

J. J. Shelton, "Lateral Dynamics of a Moving Web", thesis, Oklahoma State University 1968 (from memory):
y'''' = K² y'' with K² = T/(E I), y(0) = y'(0) = 0, y'(L) = θ, y''(L) = 0; an edge goes slack where the moment
at the roll before reaches T W/6. The shares of θ L by which the web runs aside were worked out from that
equation by hand: 0.677394, 0.705513 and 0.810946 at K L = 1, 2 and 5. N, mm, N/mm².
"""

from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import solve_bvp

from certgen.assessment.web_limit import critical_slope, lateral_shift, shift_mm, stiffness
from certgen.survey.survey import Web

Rows = NDArray[np.float64]


@dataclass(frozen=True)
class Beam:
    """What the boundary-value problem gives: `aside` is y(L)/(θ L), `bend` y''(0) L/θ."""

    aside: float
    bend: float


def beam(stiffness_kl: float) -> Beam:
    """Integrate the beam with L = 1 and θ = 1, by collocation on a mesh of its own."""

    def slope(_: Rows, y: Rows) -> Rows:
        return np.vstack([y[1], y[2], y[3], stiffness_kl**2 * y[2]])

    def ends(start: Rows, end: Rows) -> Rows:
        return np.array([start[0], start[1], end[1] - 1.0, end[2]])

    x = np.linspace(0.0, 1.0, 50)
    found = solve_bvp(slope, ends, x, np.zeros((4, len(x))), tol=1e-10, max_nodes=100_000)
    assert found.success
    return Beam(float(found.sol(1.0)[0]), float(found.sol(0.0)[2]))


@pytest.mark.parametrize(("stiffness_kl", "share"), [(1.0, 0.677394), (2.0, 0.705513), (5.0, 0.810946)])
def test_web_runs_aside_as_the_integrated_beam(stiffness_kl: float, share: float) -> None:
    """Hand-worked figures, numerical beam and formula agree."""
    assert beam(stiffness_kl).aside == pytest.approx(share, abs=6e-7)
    assert lateral_shift(stiffness_kl) == pytest.approx(beam(stiffness_kl).aside, abs=1e-8)


# width, thickness, tension per width, modulus, span: film, paper, narrow nonwoven, long film
WEBS = [
    Web(1500.0, 0.02, 0.14, 3500.0, {"R2": 4500.0}),
    Web(2540.0, 0.1, 0.5, 5000.0, {"R2": 1200.0}),
    Web(300.0, 0.3, 0.4, 60.0, {"R2": 3000.0}),
    Web(600.0, 0.05, 0.35, 1400.0, {"R2": 9000.0}),
]


@pytest.mark.parametrize("web", WEBS)
def test_critical_slope_brings_the_moment_to_a_sixth_of_tension_times_width(web: Web) -> None:
    """E I y''(0) = T W/6 at the exact slope, with the moment of inertia t W³/12 and the whole tension T."""
    found = critical_slope(web, "R2")
    assert found is not None
    span = web.spans_mm["R2"]
    tension = web.tension_n_per_mm * web.width_mm
    rigidity = web.modulus_n_per_mm2 * web.thickness_mm * web.width_mm**3 / 12.0
    k_l = span * np.sqrt(tension / rigidity)
    assert stiffness(web.strain, span / web.width_mm) == pytest.approx(k_l, rel=1e-12)
    moment = rigidity * beam(float(k_l)).bend / span * found.exact_mm_per_m / 1000.0
    assert moment == pytest.approx(tension * web.width_mm / 6.0, rel=1e-7)
    # the simple slope is the exact one of a span without stiffness, so it overstates what a long span bears
    assert found.simple_mm_per_m >= found.exact_mm_per_m


@pytest.mark.parametrize("web", WEBS)
def test_shift_is_that_of_the_integrated_beam(web: Web) -> None:
    """In mm at the roll, for a slope of 0.2 mm/m."""
    span = web.spans_mm["R2"]
    k_l = stiffness(web.strain, span / web.width_mm)
    assert shift_mm(web, span, 0.2) == pytest.approx(beam(k_l).aside * 0.2e-3 * span, rel=1e-7)
