"""JCGM 100:2008, H.2 (resistance and reactance measured together) by the arithmetic of estimates.

Data of Table H.2 and results of Table H.3, from memory. Impedance Z = V/I, resistance R = Z cos φ and
reactance X = Z sin φ are products; their logarithms are sums, and estimates subtract: ln Z = ln V - ln I.
The uncertainty of a logarithm is the relative one of the quantity, so the figures must come out as printed.
"""

from math import cos, log, sin, sqrt, tan

import numpy as np
import pytest

from certgen.network.least_squares import Array, Estimate

# V in volt, I in ampere, φ in radian; five observations of all three
V = np.array([5.007, 4.994, 5.005, 4.990, 4.999])
I = 1e-3 * np.array([19.663, 19.639, 19.640, 19.685, 19.678])  # noqa: E741  (the symbol of the guide)
PHI = np.array([1.0456, 1.0438, 1.0468, 1.0428, 1.0433])


def mean(observed: Array, value: float, slope: float) -> Estimate:
    """Return a function of a mean with this value and derivative; simultaneous observations share errors."""
    apart = observed - observed.mean()
    return Estimate(value, {}, slope * apart / sqrt(len(observed) * (len(observed) - 1)))


def logarithm(observed: Array) -> Estimate:
    """Return the logarithm of a mean."""
    return mean(observed, log(observed.mean()), 1.0 / observed.mean())


ANGLE = float(PHI.mean())
# minus the logarithms of cos φ and sin φ, to be subtracted
COSINE = mean(PHI, -log(cos(ANGLE)), tan(ANGLE))
SINE = mean(PHI, -log(sin(ANGLE)), -1.0 / tan(ANGLE))
Z = logarithm(V) - logarithm(I)
R = Z - COSINE
X = Z - SINE


def correlation(one: Estimate, other: Estimate) -> float:
    """Return the correlation coefficient."""
    return one.covariance(other) / (one.u * other.u)


def test_means_and_their_correlations_are_those_of_table_h2() -> None:
    """Standard uncertainties of V 0.0032 V, of I 0.0095 mA, of φ 0.000 75; r -0.36, 0.86 and -0.65."""
    v, i, phi = (mean(one, float(one.mean()), 1.0) for one in (V, I, PHI))
    assert [v.value, i.value, phi.value] == pytest.approx([4.9990, 0.019661, 1.04446], rel=1e-9)
    assert [v.u, 1e3 * i.u, phi.u] == pytest.approx([0.0032, 0.0095, 0.00075], rel=0.02)
    assert correlation(v, i) == pytest.approx(-0.36, abs=0.005)
    assert correlation(v, phi) == pytest.approx(0.86, abs=0.005)
    assert correlation(i, phi) == pytest.approx(-0.65, abs=0.006)


@pytest.mark.parametrize(
    ("found", "value", "u"), [(R, 127.732, 0.071), (X, 219.847, 0.295), (Z, 254.260, 0.236)]
)
def test_results_are_those_of_table_h3(found: Estimate, value: float, u: float) -> None:
    """Values to the third decimal, uncertainties to the last printed digit."""
    assert np.exp(found.value) == pytest.approx(value, abs=6e-4)
    assert np.exp(found.value) * found.u == pytest.approx(u, abs=6e-4)


def test_correlations_of_the_results_are_those_of_table_h3() -> None:
    """r(R, X) = -0.588, r(R, Z) = -0.485, r(X, Z) = 0.993."""
    found = [correlation(R, X), correlation(R, Z), correlation(X, Z)]
    assert found == pytest.approx([-0.588, -0.485, 0.993], abs=6e-4)
