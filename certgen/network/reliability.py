"""Residuals, redundancy and smallest detectable blunders; events that may have gone wrong, each tested.

Sources: W. Baarda, "A testing procedure for use in geodetic networks" (1968), for redundancy numbers, the
w-test and the smallest detectable blunder; C. D. Ghilani, Adjustment Computations, chapter 21, for the same
in practice (both from memory).

Every event is a pattern: by how much each reading is off where the event has the size of one. Each adds a
single unknown, its size, to the network. Events with the same effect on what the readings have in common
cannot be told apart; that shows in their tests and is not worked out here.

For an event with pattern c, weights W and residuals v (fitted less read, covariance Q_v) the test is
c' W v / sqrt(c' W Q_v W c), for one reading its standardised residual. Its square is by how much chi-square
falls where the size of the event becomes an unknown.
Sources: as for the w-test in residuals.py (the general form: Baarda 1968, from memory); conditioning on what
was named already is the Gaussian rule (Schur complement of the correlation).
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Literal

import numpy as np
from scipy.special import ndtri

from certgen.network.equations import Label, Observation, Unknown
from certgen.network.least_squares import Array, Estimate, Network
from certgen.survey.survey import ROUNDS

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
Kind = Literal["reading", "seating", "monument moved", "setup moved"]

# what is stated of an instrument or of the plane of heights, and may be stated too small; the scale of an
# instrument is not among them: it would explain any single large reading by a scale that no instrument has
_STATED = frozenset({"squareness", "level_zero", "level_plane"})


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


@dataclass(frozen=True, slots=True)
class Event:
    """One event: its kind and `pattern`, by the index of the observation.

    The size of a single reading, a seating (drive side less operator side) and a monument is in the unit of
    the reading; that of a setup that moved is its turn in mm/m. `between` are the setups before and after a
    monument moved, None before the first.
    """

    kind: Kind
    pattern: Mapping[int, float]
    between: tuple[str | None, str | None] | None = None


def single(observations: Sequence[Observation]) -> tuple[Event, ...]:
    """Return one event for each observation: that it alone is off, priors included."""
    return tuple(Event("reading", {index: 1.0}) for index in range(len(observations)))


def tested(observations: Sequence[Observation]) -> tuple[Event, ...]:
    """Return the single readings, and of the priors those that hold for the whole line.

    The others have no pattern: that a setup drifted more at one seating than its level check allows, or that
    a roll runs out more than stated, is nothing else than that this seating is off.
    """
    return tuple(
        event
        if observation.label.source != "prior"
        or (
            observation.label.roll is None
            and observation.label.setup is None
            and observation.label.side in _STATED
        )
        else replace(event, pattern={})
        for observation, event in zip(observations, single(observations), strict=True)
    )


def movements(observations: Sequence[Observation]) -> tuple[Event, ...]:
    """Return the events that touch several readings: a monument that moved, a setup that moved."""
    return (*_monuments(observations), *_setups(observations))


def seating_of(label: Label) -> Label:
    """Return what both ends of one seating share; any other reading stands for itself."""
    return label._replace(side=None) if label.source in {"roll", "height"} else label


def _monuments(observations: Sequence[Observation]) -> Iterator[Event]:
    """A monument stands elsewhere from one of its readings on; from the first on, where a line was given."""
    read: dict[str, list[int]] = {}
    for index, observation in enumerate(observations):
        if observation.label.source == "monument":
            read.setdefault(str(observation.label.monument), []).append(index)
    for indices in read.values():
        setups = [None, *(observations[index].label.setup for index in indices)]
        for cut, between in enumerate(pairwise(setups)):
            yield Event("monument moved", dict.fromkeys(indices[cut:], 1.0), between)


def _setups(observations: Sequence[Observation]) -> Iterator[Event]:
    """A setup turned between its rounds: all its readings of one round are off by the turn times their place.

    Its monuments were read before it turned (what is as left is off) or after (what is as found is). An
    offset shows in no roll reading, since every seating has a height of its own.
    """
    read: dict[str, dict[str, dict[int, float]]] = {}
    for index, observation in enumerate(observations):
        label = observation.label
        if label.source == "roll":
            of_setup = read.setdefault(str(label.setup), {})
            of_setup.setdefault(str(label.round), {})[index] = -observation.at_m
    for rounds in read.values():
        if len(rounds) == len(ROUNDS):
            for which in reversed(ROUNDS):
                yield Event("setup moved", rounds[which])


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
        several = [
            {i: size / float(network.sigmas[i]) ** 2 for i, size in event.pattern.items()}
            for event in events[count:]
        ]
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
