"""One blunder planted in a survey, of a kind that happens in life, with what would name it.

A blunder is planted where the readings can show it: at one and a half times the smallest that would be found
there, or more. What size that is comes from the network's own figures; whether it is named does not.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from certgen.survey.survey import MonumentReading, RollReading, Setup, Survey
from tests.simulate.records import read, roll, setup, survey

KINDS = ("sign", "decimal", "swapped", "unit", "monument moved", "setup moved", "gross")
AT_LEAST = 1.5


@dataclass(frozen=True)
class Planted:
    """A survey with one blunder: its kind, and the setup, roll or monument, and round that it sits at."""

    kind: str
    survey: Survey
    setup: str | None = None
    roll: str | None = None
    monument: str | None = None
    round: str | None = None


Detectable = Callable[[str, Mapping[str, str | None]], float]


def slips(kind: str, reading: RollReading) -> Iterator[tuple[float, float]]:
    """Yield what might stand for both ends of a roll reading after a slip of that kind."""
    operator, drive = reading.operator_mm, reading.drive_mm
    if kind == "sign":
        yield from ((operator, -drive), (-operator, drive))
    elif kind == "swapped":
        yield drive, operator
    else:
        for factor in (0.1, 10.0, 100.0) if kind == "decimal" else (25.4, 1.0 / 25.4):
            yield operator, factor * drive
            yield factor * operator, factor * drive


def with_reading(survey: Survey, setup: Setup, old: RollReading, ends: tuple[float, float]) -> Survey:
    """Return the survey with other values for both ends of one roll reading."""
    new = replace(old, operator_mm=ends[0], drive_mm=ends[1])
    changed = replace(setup, readings=tuple(new if one is old else one for one in setup.readings))
    return replace(survey, setups=tuple(changed if one is setup else one for one in survey.setups))


def plant_slip(
    rng: np.random.Generator, survey: Survey, kind: str, least: Mapping[tuple[str, str, str], float]
) -> Planted:
    """Plant a slip in a roll reading; `least` is the smallest difference of its ends that would be found."""
    ways = [
        (setup, reading, ends)
        for setup in survey.setups
        for reading in setup.readings
        for ends in slips(kind, reading)
        if abs(ends[1] - ends[0] - reading.drive_mm + reading.operator_mm)
        > AT_LEAST * least[setup.id, reading.roll, reading.round]
    ]
    setup, reading, ends = ways[rng.integers(len(ways))]
    return Planted(
        kind, with_reading(survey, setup, reading, ends), setup.id, reading.roll, round=reading.round
    )


def plant_gross(
    rng: np.random.Generator, survey: Survey, least: Mapping[tuple[str, str, str], float]
) -> Planted:
    """Plant an error without a cause in one end of a roll reading."""
    ways = [
        (setup, reading)
        for setup in survey.setups
        for reading in setup.readings
        if np.isfinite(least[setup.id, reading.roll, reading.round])
    ]
    setup, reading = ways[rng.integers(len(ways))]
    size = float(rng.choice([-1.0, 1.0]) * rng.uniform(AT_LEAST, 4.0))
    size *= least[setup.id, reading.roll, reading.round]
    ends = (reading.operator_mm, reading.drive_mm + size)
    return Planted(
        "gross", with_reading(survey, setup, reading, ends), setup.id, reading.roll, round=reading.round
    )


def plant_monument(survey: Survey, monument: str, since: int, by_mm: float) -> Planted:
    """Move a monument before the setup at that place."""
    setups = tuple(
        replace(setup, monuments=tuple(_moved(one, monument, by_mm) for one in setup.monuments))
        if place >= since
        else setup
        for place, setup in enumerate(survey.setups)
    )
    return Planted(
        "monument moved", replace(survey, setups=setups), survey.setups[since].id, monument=monument
    )


def _moved(one: MonumentReading, monument: str, by_mm: float) -> MonumentReading:
    return replace(one, value_mm=one.value_mm + by_mm) if one.monument == monument else one


def plant_turn(survey: Survey, name: str, by_mm_per_m: float) -> Planted:
    """Turn a setup between its rounds: what it read as left is off by the turn times the place."""

    def turned(one: RollReading) -> RollReading:
        if one.round == "as_found":
            return one
        operator, drive = (-by_mm_per_m * y / 1000.0 for y in one.y_mm)
        return replace(one, operator_mm=one.operator_mm + operator, drive_mm=one.drive_mm + drive)

    setups = tuple(
        replace(setup, readings=tuple(map(turned, setup.readings))) if setup.id == name else setup
        for setup in survey.setups
    )
    return Planted("setup moved", replace(survey, setups=setups), name)


def from_two_setups(first: float, second: float) -> Survey:
    """Return R2 read once from each of two setups with these drive sides, 0.21 and -0.945 mm if right."""
    marks = {"M1": (-1000.0, 0.55), "M2": (5000.0, -2.75), "M3": (9000.0, -4.95)}
    setups = (
        setup("A", dict.fromkeys(marks, 0.0), read("R1", 0.0, 0.0), read("R2", 0.0, first)),
        setup("B", {m: -y for m, (_, y) in marks.items()}, read("R1", 0.0, -1.155), read("R2", 0.0, second)),
    )
    named = tuple(
        replace(one, readings=tuple(replace(r, where=f"{one.id}.{r.where}") for r in one.readings))
        for one in setups
    )
    return survey((roll("R1"), roll("R2")), named, {m: x for m, (x, _) in marks.items()})
