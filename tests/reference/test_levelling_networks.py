"""Both levelling networks of `levelling.py` through the solver and its proof, to the digits published."""

from itertools import pairwise

import numpy as np
import pytest

from certgen.network.quality import quality
from tests.reference.levelling import GHILANI, RING, Levelling, adjusted, height


@pytest.fixture(params=[RING, GHILANI], ids=["ring", "Ghilani 12.1"], name="published")
def _published(request: pytest.FixtureRequest) -> Levelling:
    return request.param


def test_network_gives_the_published_heights(published):
    """Heights agree to 1e-9 m, the rounding of the published ones."""
    network, (_, start_m) = adjusted(published), published.fixed
    solved = [start_m + network.values[height(point)] / 1000.0 for point in published.heights_m]
    assert solved == pytest.approx(list(published.heights_m.values()), abs=1e-9)


def test_network_gives_the_published_covariance(published):
    """Variances, and covariances of neighbouring heights, agree to the eight digits published."""
    network = adjusted(published)
    points = [network.estimate({height(point): 1.0}) for point in published.heights_m]
    variances = [one.covariance(one) for one in points]
    assert variances == pytest.approx(published.variances_mm2, rel=1e-7)
    neighbours = [one.covariance(other) for one, other in pairwise(points)]
    assert neighbours == pytest.approx(published.next_covariances_mm2, rel=1e-7)


def test_network_gives_the_published_deviations_of_adjusted_readings(published):
    """The standard deviation of every adjusted rise, which takes all covariances, agrees to 1e-8 relative."""
    fitted = [fit.u for fit in adjusted(published).fits]
    assert fitted == pytest.approx(published.adjusted_sd_mm, rel=1e-8)


def test_network_gives_the_published_chi_square(published):
    """Degrees of freedom are the same and chi-square agrees to the eight digits published."""
    proof = quality(adjusted(published))
    assert proof.dof == published.dof
    assert proof.chi_square == pytest.approx(published.chi_square, rel=1e-7)


def test_network_gives_the_published_redundancy(published):
    """1 - (1 - f)² is the redundancy number, and the numbers sum to the degrees of freedom."""
    proof = quality(adjusted(published))
    expected = 1.0 - (1.0 - np.array(published.f_percent) / 100.0) ** 2
    assert proof.redundancy == pytest.approx(expected, abs=2e-5)
    assert proof.redundancy.sum() == pytest.approx(published.dof, abs=1e-12)


def test_network_gives_the_published_standard_residuals(published):
    """The size of every standardised residual agrees to the three places published."""
    assert np.abs(quality(adjusted(published)).w) == pytest.approx(published.standard_residuals, abs=6e-4)


def test_network_names_no_suspect(published):
    """No published residual is beyond the critical value, so none is named."""
    assert quality(adjusted(published)).suspects == ()
