"""Suspects: readings that the others contradict, the strongest first, each with what may have happened.

Data snooping: the reading with the largest standardised residual is named; the rest are tested again as if
it had been set aside, so that what merely follows from it is not named too. Nothing is ever dropped here.
Sources: as for the w-test in residuals.py; conditioning on the readings already named is the Gaussian rule
(Schur complement of their correlation).
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from certgen.engine.estimate import Array
from certgen.engine.network import Network
from certgen.engine.observation import Label
from certgen.engine.residuals import CRITICAL_W, UNCHECKED, Residuals

# More suspects than this say that the survey as a whole does not fit, not that these readings are wrong.
_MOST = 12


@dataclass(frozen=True, slots=True)
class Suspect:
    """A reading whose standardised residual `w` is beyond the critical value.

    `index` is that of the observation. `blunder` is by how much the reading seems to be off (read less true)
    and `detectable` the smallest blunder that would be found there, in the reading's unit. `others` are
    readings that explain the contradiction equally well: the numbers cannot tell them apart.
    """

    index: int
    label: Label
    w: float
    blunder: float
    detectable: float
    others: tuple[Label, ...] = ()


def suspects(network: Network, found: Residuals) -> tuple[Suspect, ...]:
    """Return the suspects in the order in which they were named."""
    return tuple(_named(network, found))


def _named(network: Network, found: Residuals) -> Iterator[Suspect]:
    test = _Conditional.start(found)
    while len(test.pivots) < _MOST:
        w = test.w()
        size = np.round(np.abs(np.nan_to_num(w)), 6)
        index = int(np.argmax(size))
        if size[index] <= CRITICAL_W:
            return
        before = test.variance.copy()
        test.set_aside(index, _correlations(network, found, index))
        tied = np.flatnonzero((before > UNCHECKED) & (test.variance <= UNCHECKED))
        others = tuple(network.observations[i].label for i in tied if i != index)
        yield _suspect(network, found, index, others)


def _suspect(network: Network, found: Residuals, index: int, others: tuple[Label, ...]) -> Suspect:
    blunder, _ = found.blunder(index)
    label = network.observations[index].label
    return Suspect(index, label, float(found.w[index]), blunder, float(found.detectable[index]), others)


def _correlations(network: Network, found: Residuals, index: int) -> Array:
    """The correlation of every residual with one of them, shape (n,); 0 where a residual is unchecked."""
    covariance = -network.covariances(network.fits[index])
    covariance[index] += found.sigma[index] ** 2
    spread = found.sigma * np.sqrt(np.maximum(found.redundancy, UNCHECKED))
    return np.where(found.redundancy > UNCHECKED, covariance / (spread * spread[index]), 0.0)


@dataclass(slots=True)
class _Conditional:
    """Standardised residuals given that some readings are set aside: a Cholesky factor grown by pivots."""

    left: Array
    variance: Array
    pivots: list[int] = field(default_factory=list)
    columns: list[Array] = field(default_factory=list)

    @classmethod
    def start(cls, found: Residuals) -> "_Conditional":
        checked = found.redundancy > UNCHECKED
        return cls(np.where(checked, found.w, 0.0), np.where(checked, 1.0, 0.0))

    def w(self) -> Array:
        """Return the standardised residuals that remain; nan where nothing is left to test."""
        testable = np.where(self.variance > UNCHECKED, self.variance, np.nan)
        return np.asarray(self.left / np.sqrt(testable))

    def set_aside(self, pivot: int, correlations: Array) -> None:
        """Condition on one more reading."""
        column = correlations - sum((c * c[pivot] for c in self.columns), np.zeros_like(correlations))
        column = column / np.sqrt(self.variance[pivot])
        self.left = self.left - column * (self.left[pivot] / np.sqrt(self.variance[pivot]))
        self.variance = np.maximum(self.variance - column**2, 0.0)
        self.pivots.append(pivot)
        self.columns.append(column)
