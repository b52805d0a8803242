"""Residuals of a network: redundancy numbers, standardised residuals, smallest detectable blunders.

Sources: W. Baarda, "A testing procedure for use in geodetic networks" (1968), for redundancy numbers, the
w-test and the smallest detectable blunder; C. D. Ghilani, Adjustment Computations, chapter 21, for the same
in practice (both from memory).
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from certgen.engine.estimate import Array
from certgen.engine.network import Network

# Two-sided risk of naming a sound reading and power of finding a blunder, per reading: Baarda's values.
SUSPECT_RISK = 0.001
POWER = 0.80
# Below this redundancy a residual says nothing: the reading is (nearly) alone in what it determines.
UNCHECKED = 1e-6
# Below this one a blunder hardly shows: its smallest detectable size is 18 times the reading's u or more.
CHECKED = 0.05

CRITICAL_W = float(ndtri(1.0 - SUSPECT_RISK / 2.0))
# Non-centrality at which a blunder is found with the power above (4.13).
DETECTABLE = CRITICAL_W + float(ndtri(POWER))


@dataclass(frozen=True, slots=True)
class Residuals:
    """Per observation, shape (n,): residual (fitted minus read), sigma, redundancy, w, detectable blunder.

    The redundancy is the share of a blunder that shows in its own residual; they sum to the degrees of
    freedom. `w` and `detectable` are nan where the reading is unchecked. Units are the observation's own.
    """

    residual: Array
    sigma: Array
    redundancy: Array
    w: Array
    detectable: Array

    def blunder(self, index: int) -> tuple[float, float]:
        """Return by how much observation `index` seems to be off, and the standard uncertainty of that."""
        redundancy = float(self.redundancy[index])
        return -float(self.residual[index]) / redundancy, float(self.sigma[index]) / redundancy**0.5


def residuals(network: Network) -> Residuals:
    """Return residuals and what they can prove."""
    sigma, residual = network.sigmas, network.residuals
    fitted = np.array([fit.covariance(fit) for fit in network.fits])
    redundancy = np.asarray(1.0 - fitted / sigma**2)
    root = np.sqrt(np.where(redundancy > UNCHECKED, redundancy, np.nan))
    return Residuals(residual, sigma, redundancy, residual / (sigma * root), DETECTABLE * sigma / root)
