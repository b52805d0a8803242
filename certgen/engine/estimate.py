"""Estimates that carry their errors along, so that what two of them share cancels when they are subtracted.

Every estimate of a network is a linear function of the same set of independent unit-variance errors (the
observations after whitening). Kept as coefficients on those errors, the covariance of two estimates is a
dot product, and no inverse of the normal matrix is ever formed.
Source: propagation of uncertainty for linear functions of common inputs, JCGM 102:2011, 6.2.1.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Estimate:
    """A value with its error coefficients.

    `shared` (shape (s,)) are the coefficients on the errors that all estimates of the network may share;
    `own` holds, per block of the network, those on the errors of that block alone. The unit of the value is
    the unit of the coefficients; the errors themselves have unit variance.
    """

    value: float
    own: Mapping[str, Array]
    shared: Array

    @property
    def u(self) -> float:
        """The standard uncertainty, in the unit of the value."""
        return sqrt(self.covariance(self))

    def covariance(self, other: "Estimate") -> float:
        """Return the covariance with another estimate of the same network."""
        common = self.own.keys() & other.own.keys()
        return float(self.shared @ other.shared) + sum(
            float(self.own[name] @ other.own[name]) for name in sorted(common)
        )

    def __sub__(self, other: "Estimate") -> "Estimate":
        """Return the difference; what both share cancels."""
        own = dict(self.own)
        for name, coefficients in other.own.items():
            own[name] = own[name] - coefficients if name in own else -coefficients
        return Estimate(self.value - other.value, own, self.shared - other.shared)

    def shifted(self, by: float) -> "Estimate":
        """Return the estimate with an exactly known amount added."""
        return Estimate(self.value + by, self.own, self.shared)

    def scaled(self, by: float) -> "Estimate":
        """Return the estimate times a factor."""
        own = {name: by * coefficients for name, coefficients in self.own.items()}
        return Estimate(by * self.value, own, by * self.shared)


def known(value: float, shared_size: int) -> Estimate:
    """Return an exactly known value (a reference roll's zero) beside estimates of a network."""
    return Estimate(value, {}, np.zeros(shared_size))
