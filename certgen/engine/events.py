"""What may have gone wrong in a network: a reading, both ends of a seating, a monument or a setup that moved.

Every event is a pattern: by how much each reading is off where the event has the size of one. Each adds a
single unknown, its size, to the network. Events with the same effect on what the readings have in common
cannot be told apart; that shows in their tests and is not worked out here.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

from certgen.engine.observation import Label, Observation
from certgen.survey.survey import ROUNDS

Kind = Literal["reading", "seating", "monument moved", "setup moved"]

# what is stated of an instrument or of the plane of heights, and may be stated too small; the scale of an
# instrument is not among them: it would explain any single large reading by a scale that no instrument has
_STATED = frozenset({"squareness", "level_zero", "level_plane"})


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
        if observation.label.source != "prior" or _holds_for_all(observation.label)
        else replace(event, pattern={})
        for observation, event in zip(observations, single(observations), strict=True)
    )


def _holds_for_all(prior: Label) -> bool:
    return prior.roll is None and prior.setup is None and prior.side in _STATED


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
