"""EventTests of events by themselves and given that others are set aside: the arithmetic of data snooping.

For an event with pattern c, weights W and residuals v (fitted less read, covariance Q_v) the test is
c' W v / sqrt(c' W Q_v W c), for one reading its standardised residual. Its square is by how much chi-square
falls where the size of the event becomes an unknown.
Sources: as for the w-test in residuals.py (the general form: Baarda 1968, from memory); conditioning on what
was named already is the Gaussian rule (Schur complement of the correlation).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from certgen.engine.estimate import Array, Estimate
from certgen.engine.events import Event
from certgen.engine.network import Network
from certgen.engine.observation import Unknown
from certgen.engine.residuals import UNCHECKED, Residuals


@dataclass(frozen=True, slots=True, eq=False)
class EventTests:
    """The events of a network with their tests by themselves, shape (n + m,): n readings, then m movements.

    A reading with an empty pattern is not tested.
    `weighted` are the patterns times the weights, each scaled so that a single reading has the weight of one;
    `pull` is what the residuals come to under it and `spread` its standard deviation, 0 where untestable.
    """

    network: Network
    events: Sequence[Event]
    weighted: Sequence[Mapping[int, float]]
    pull: Array
    spread: Array

    @classmethod
    def of(cls, network: Network, found: Residuals, events: Sequence[Event]) -> "EventTests":
        """Test the events: first one for each observation, in their order, then any others."""
        count = len(network.observations)
        several = [_weighted(network, event) for event in events[count:]]
        pull = [sum(g * network.residuals[i] for i, g in one.items()) for one in several]
        fits = network.estimates([_terms(network, one) for one in several])
        read = [sum((g * network.sigmas[i]) ** 2 for i, g in one.items()) for one in several]
        left = np.array([all_ - fit.covariance(fit) for all_, fit in zip(read, fits, strict=True)])
        told = left > UNCHECKED * np.array(read)
        spread = np.where(told, np.sqrt(np.where(told, left, 0.0)), 0.0)
        tested = np.array([bool(event.pattern) for event in events[:count]], dtype=bool)
        own = found.sigma * np.sqrt(np.maximum(found.redundancy, UNCHECKED))
        own = np.where(tested & (found.redundancy > UNCHECKED), own, 0.0)
        return cls(
            network,
            events,
            [*({index: 1.0} for index in range(count)), *several],
            np.concatenate([network.residuals, np.array(pull)]),
            np.concatenate([own, spread]),
        )

    def fit(self, index: int) -> Estimate:
        """Return the function of the unknowns that the pattern, weighted as it is, amounts to."""
        if index < len(self.network.observations):
            return self.network.fits[index]
        return self.network.estimate(_terms(self.network, self.weighted[index]))

    def correlations(self, index: int) -> Array:
        """The correlation of every test with one of them, shape (n + m,); 0 where a test is untestable."""
        network, count = self.network, len(self.network.observations)
        of_readings = -network.covariances(self.fit(index))
        for i, weight in self.weighted[index].items():
            of_readings[i] += weight * network.sigmas[i] ** 2
        of_movements = [sum(g * of_readings[i] for i, g in one.items()) for one in self.weighted[count:]]
        covariance = np.concatenate([of_readings, np.array(of_movements)])
        told = self.spread > 0.0
        return np.where(told, covariance / (np.where(told, self.spread, 1.0) * self.spread[index]), 0.0)

    def scale(self, index: int) -> float:
        """Return a pattern over its weighted one: the variance of a single reading, 1 for several.

        The weighted pattern of a single reading is 1 there, of several pattern over variance.
        """
        return float(self.network.sigmas[index] ** 2) if index < len(self.network.observations) else 1.0


def _weighted(network: Network, event: Event) -> Mapping[int, float]:
    return {i: size / float(network.sigmas[i]) ** 2 for i, size in event.pattern.items()}


def _terms(network: Network, weighted: Mapping[int, float]) -> dict[Unknown, float]:
    terms: dict[Unknown, float] = {}
    for i, weight in weighted.items():
        for unknown, coefficient in network.observations[i].terms.items():
            terms[unknown] = terms.get(unknown, 0.0) + weight * coefficient
    return terms


@dataclass(slots=True)
class Conditional:
    """Standardised tests given that some events are set aside: a Cholesky factor grown by pivots."""

    left: Array
    variance: Array
    pivots: list[int] = field(default_factory=list)
    columns: list[Array] = field(default_factory=list)

    @classmethod
    def start(cls, tests: EventTests) -> "Conditional":
        """Begin with nothing set aside."""
        told = tests.spread > 0.0
        left = np.where(told, tests.pull / np.where(told, tests.spread, 1.0), 0.0)
        return cls(left, np.where(told, 1.0, 0.0))

    def w(self) -> Array:
        """Return the standardised tests that remain; nan where nothing is left to test."""
        testable = np.where(self.variance > UNCHECKED, self.variance, np.nan)
        return np.asarray(self.left / np.sqrt(testable))

    def spread(self, tests: EventTests, index: int) -> float:
        """Return the standard uncertainty of the size of an event, in the unit of its pattern."""
        return tests.scale(index) / (float(tests.spread[index]) * float(np.sqrt(self.variance[index])))

    def set_aside(self, pivot: int, correlations: Array) -> None:
        """Condition on one more event."""
        column = correlations - sum((c * c[pivot] for c in self.columns), np.zeros_like(correlations))
        column = column / np.sqrt(self.variance[pivot])
        self.left = self.left - column * (self.left[pivot] / np.sqrt(self.variance[pivot]))
        self.variance = np.maximum(self.variance - column**2, 0.0)
        self.pivots.append(pivot)
        self.columns.append(column)
