"""The block solver against libraries that know nothing of blocks: statsmodels, GTC and uncertainties.

statsmodels solves the dense weighted problem; GTC and uncertainties carry the readings' uncertainties through
the dense pseudo-inverse, so that the covariance of any two results is theirs. Agreement is to 1e-9 relative.
"""

import GTC
import numpy as np
import pytest
import statsmodels.api as sm
import uncertainties

from certgen.network.equations import Label, Observation, Unknown
from certgen.network.least_squares import Network, solve
from certgen.network.quality import quality
from tests.reference import networks

SEEDS = range(6)


@pytest.fixture(params=SEEDS, name="rows")
def _rows(request: pytest.FixtureRequest) -> list:
    return networks.draw(request.param)


def solved(rows: list) -> tuple[Network, list]:
    """Return the network and its estimates in the order of the dense system."""
    network = solve(rows)
    return network, network.estimates([{unknown: 1.0} for unknown in networks.unknowns()])


def gains(rows: list) -> np.ndarray:
    """Return the matrix that takes readings to the dense weighted least-squares solution."""
    matrix, _, sigma = networks.dense(rows)
    return np.linalg.pinv(matrix / sigma[:, None]) / sigma


def test_values_and_covariance_agree_with_weighted_least_squares(rows):
    """Values and the full covariance matrix agree with statsmodels' WLS (unscaled)."""
    matrix, values, sigma = networks.dense(rows)
    peer = sm.WLS(values, matrix, weights=sigma**-2).fit()
    _, estimates = solved(rows)
    covariance = [[one.covariance(other) for other in estimates] for one in estimates]
    assert [one.value for one in estimates] == pytest.approx(peer.params, rel=1e-9, abs=1e-10)
    assert np.array(covariance) == pytest.approx(peer.normalized_cov_params, rel=1e-9, abs=1e-10)


def test_chi_square_agrees_with_weighted_least_squares(rows):
    """Chi-square and degrees of freedom are statsmodels' weighted sum of squares and its."""
    matrix, values, sigma = networks.dense(rows)
    peer = sm.WLS(values, matrix, weights=sigma**-2).fit()
    network, _ = solved(rows)
    assert network.degrees_of_freedom == peer.df_resid
    assert network.chi_square == pytest.approx(peer.ssr, rel=1e-9)


def test_standardised_residuals_agree_with_weighted_least_squares(rows):
    """Redundancy numbers are one minus the leverage, w the internally studentised residual with sigma 1."""
    matrix, values, sigma = networks.dense(rows)
    peer = sm.OLS(values / sigma, matrix / sigma[:, None]).fit().get_influence()
    proof = quality(solve(rows))
    free = 1.0 - peer.hat_matrix_diag
    assert proof.redundancy == pytest.approx(free, abs=1e-10)
    assert proof.w == pytest.approx(-peer.resid / np.sqrt(free), rel=1e-7, abs=1e-9)


def test_differences_agree_with_gtc(rows):
    """The u of a difference agrees with GTC, which carries every reading through to it."""
    _, values, sigma = networks.dense(rows)
    readings = [GTC.ureal(value, u) for value, u in zip(values, sigma, strict=True)]
    peers = [sum(float(g) * reading for g, reading in zip(row, readings, strict=True)) for row in gains(rows)]
    _, estimates = solved(rows)
    for i, j in networks.pairs():
        difference, peer = estimates[i] - estimates[j], peers[i] - peers[j]
        assert (difference.value, difference.u) == pytest.approx((peer.x, peer.u), rel=1e-9, abs=1e-10)


def test_covariances_agree_with_uncertainties(rows):
    """The covariance matrix agrees with that of the library `uncertainties`."""
    _, values, sigma = networks.dense(rows)
    readings = np.array([uncertainties.ufloat(value, u) for value, u in zip(values, sigma, strict=True)])
    peer = np.array(uncertainties.covariance_matrix(list(gains(rows) @ readings)))
    _, estimates = solved(rows)
    found = np.array([[one.covariance(other) for other in estimates] for one in estimates])
    assert found == pytest.approx(peer, rel=1e-9, abs=1e-10)


def test_straight_line_agrees_with_gtc():
    """A weighted straight line agrees with GTC's own fit: intercept, slope, their u and covariance."""
    x, y, u = [1.0, 2.0, 3.5, 5.0], [2.1, 3.9, 7.2, 9.8], [0.1, 0.2, 0.1, 0.3]
    a, b = GTC.type_b.line_fit_wls(x, [GTC.ureal(*each) for each in zip(y, u, strict=True)]).a_b
    line = [Unknown("intercept", ""), Unknown("slope", "")]
    network = solve(
        Observation(dict(zip(line, (1.0, at), strict=True)), value, sigma, Label("reading"))
        for at, value, sigma in zip(x, y, u, strict=True)
    )
    first, second = network.estimates([{one: 1.0} for one in line])
    found = (first.value, first.u, second.value, second.u, first.covariance(second))
    assert found == pytest.approx((a.x, a.u, b.x, b.u, GTC.get_covariance(a, b)), rel=1e-10)
