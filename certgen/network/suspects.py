"""Suspects: contradictions among the readings, the strongest first, each with every event that explains it.

Data snooping: each event (events.py) is tested as if it alone had happened; the best one is named, and the
rest are tested again as if it were set aside, so that what merely follows from it is not named too. Nothing
is ever dropped here. The square of a test is by how much chi-square falls where the size of the event becomes
an unknown. So the likelihoods of two events, each with its best size, are as exp((w1² - w2²) / 2) to one; as
each adds one unknown, no penalty is needed between them.
Sources: snooping.py; the ratio of maximised likelihoods, S. S. Wilks, Ann. Math. Statist. 9 (1938) 60 (from
memory).
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import exp, log

import numpy as np

from certgen.network.equations import Label
from certgen.network.least_squares import Array, Estimate, Network
from certgen.network.reliability import (
    CRITICAL_W,
    DETECTABLE,
    UNCHECKED,
    Conditional,
    Event,
    EventTests,
    Kind,
    Residuals,
    movements,
    seating_of,
    single,
    tested,
)

# More suspects than this say that the survey as a whole does not fit, not that these readings are wrong.
_MOST = 12
# Events less likely than the best one by more than this are not listed (as a difference of w²).
_FAR_LESS_LIKELY = 2.0 * log(20.0)
_EQUAL_PLACES = 6  # of |w|: of events that differ by less the first one is named
_TIED_PLACES = 4  # of |w|: events that differ by less are tied


@dataclass(frozen=True, slots=True)
class Candidate:
    """One event that may have happened, with its test given that the suspects before are set aside.

    `kinds` are what the same readings cannot tell apart (one wrong monument reading, or the monument moved);
    `readings` those that are off, `indices` theirs among the observations. `blunder` is by how much (for a
    seating drive side less operator side; read less true) with standard uncertainty `u`, in the unit of the
    reading, mm/m for a setup that moved; `likelihood` that of the event against the best one. `fit` is what
    the pattern amounts to as a function of the unknowns: its covariance with an estimate is how much the
    estimate is off where the event has the size of one.
    """

    kinds: tuple[Kind, ...]
    readings: tuple[Label, ...]
    indices: tuple[int, ...]
    between: tuple[str | None, str | None] | None
    w: float
    blunder: float
    u: float
    likelihood: float
    fit: Estimate

    @property
    def kind(self) -> Kind:
        """The plainest of the events."""
        return self.kinds[0]

    @property
    def setup(self) -> str | None:
        """The setup of its readings where they share one; None for a level and a monument that moved."""
        setups = {label.setup for label in self.readings}
        return next(iter(setups)) if len(setups) == 1 else None


@dataclass(frozen=True, slots=True)
class Suspect:
    """The best explanation of a contradiction, whose test `w` is beyond the critical value.

    `index` is that of the (first) observation and `label` says what it was, without a roll where a setup
    moved. `blunder` is by how much the reading seems to be off (read less true) and `detectable` the smallest
    blunder that would be found there, in the reading's unit. `others` are readings that explain the
    contradiction equally well: the numbers cannot tell them apart. `candidates` are all events within 1 to 20
    of the best one, that first (of those tied with it, one with a likely cause: causes.py); none by the first
    edition of the rules.
    """

    index: int
    label: Label
    w: float
    blunder: float
    detectable: float
    others: tuple[Label, ...] = ()
    candidates: tuple[Candidate, ...] = ()


def suspects(network: Network, found: Residuals) -> tuple[Suspect, ...]:
    """Return the suspects in the order in which they were named."""
    return tuple(_named(network, found, (*tested(network.observations), *movements(network.observations))))


def suspects_of_first_edition(network: Network, found: Residuals) -> tuple[Suspect, ...]:
    """Return the suspects as the first edition of the rules named them: single readings, no candidates.

    Sizes are those of each reading by itself, not as if the suspects before were set aside.
    """
    for_one = _named(network, found, single(network.observations))
    return tuple(_by_itself(found, suspect) for suspect in for_one)


def _by_itself(found: Residuals, one: Suspect) -> Suspect:
    blunder, _ = found.blunder(one.index)
    w, detectable = float(found.w[one.index]), float(found.detectable[one.index])
    return Suspect(one.index, one.label, w, blunder, detectable, one.others)


def _named(network: Network, found: Residuals, events: Sequence[Event]) -> Iterator[Suspect]:
    tests = EventTests.of(network, found, events)
    test = Conditional.start(tests)
    while len(test.pivots) < _MOST:
        w = np.nan_to_num(test.w())
        size = np.round(np.abs(w), _EQUAL_PLACES)
        best = int(np.argmax(size))
        if size[best] <= CRITICAL_W:
            return
        near = np.flatnonzero(size**2 > max(size[best] ** 2 - _FAR_LESS_LIKELY, 0.0))
        sizes = {int(i): float(test.spread(tests, int(i))) for i in near}
        before = test.variance.copy()
        test.set_aside(best, tests.correlations(best))
        tied = np.flatnonzero((before > UNCHECKED) & (test.variance <= UNCHECKED))
        yield _suspect(tests, w, best, (sizes, [int(i) for i in tied if i != best]))


def _suspect(tests: EventTests, w: Array, best: int, seen: tuple[Mapping[int, float], list[int]]) -> Suspect:
    """The best event; `seen` are the uncertainties of those near it, and the events that are tied with it."""
    sizes, tied = seen
    observations, event = tests.network.observations, tests.events[best]
    index = min(event.pattern)
    others = (observations[i].label for i in tied if i < len(observations))
    label = observations[index].label
    if event.kind == "setup moved":
        label = label._replace(roll=None, side=None, series=0, where="")
    u = sizes[best]
    return Suspect(
        index=index,
        label=label,
        w=float(w[best]),
        blunder=-float(w[best]) * u,
        detectable=DETECTABLE * u,
        others=tuple(others),
        candidates=tuple(_candidates(tests, w, sizes)),
    )


def _candidates(tests: EventTests, w: Array, sizes: Mapping[int, float]) -> Iterator[Candidate]:
    """Best first, then in the order of the survey; what names the same reading twice is one candidate."""
    groups = _grouped(tests, np.asarray(np.round(np.abs(w), _TIED_PLACES), dtype=np.float64), sizes)
    most = max(abs(float(w[i])) for i in sizes)
    found = [_candidate(tests, w, sizes, (group, most)) for group in groups]
    yield from sorted(found, key=lambda one: -round(abs(one.w), _TIED_PLACES))


def _grouped(tests: EventTests, size: Array, near: Iterable[int]) -> list[list[int]]:
    """Both ends of a seating are one; so are a monument reading and a movement that it is tied with."""
    groups: dict[object, list[int]] = {}
    for i in near:
        event, label = tests.events[i], tests.network.observations[min(tests.events[i].pattern)].label
        place: object = seating_of(label)
        if event.kind == "setup moved":
            place = (event.kind, label.setup)
        elif event.kind == "monument moved":
            tied = (key for key, of in groups.items() if _is_tied(tests, size, of[0], i))
            place = next(tied, (event.kind, label.monument, event.between))
        groups.setdefault(place, []).append(i)
    return list(groups.values())


def _is_tied(tests: EventTests, size: Array, reading: int, moved: int) -> bool:
    """Whether a wrong reading of the monument explains as much as its movement, as the numbers have it."""
    first, second = (tests.network.observations[min(tests.events[i].pattern)].label for i in (reading, moved))
    return bool(
        tests.events[reading].kind == "reading"
        and first.monument == second.monument
        and size[reading] == size[moved]
    )


def _candidate(
    tests: EventTests, w: Array, sizes: Mapping[int, float], of: tuple[list[int], float]
) -> Candidate:
    """One candidate of the tests in `of` that name it, against the most that any comes to."""
    group, most = of
    observations, events = tests.network.observations, [tests.events[i] for i in group]
    kinds = tuple(dict.fromkeys(event.kind for event in events))
    if kinds == ("reading",) and len(group) > 1:
        kinds, at, indices = ("seating",), group[-1], tuple(group)
    else:
        at = max(group, key=lambda i: (round(abs(float(w[i])), _TIED_PLACES), -i))
        indices = tuple(tests.events[at].pattern)
    return Candidate(
        kinds=kinds,
        readings=tuple(observations[i].label for i in indices),
        indices=indices,
        between=next((event.between for event in events if event.between is not None), None),
        w=float(w[at]),
        blunder=-float(w[at]) * sizes[at],
        u=sizes[at],
        likelihood=exp((float(w[at]) ** 2 - most**2) / 2.0),
        fit=tests.fit(at).scaled(1.0 / tests.scale(at)),
    )
