"""An invented line of any length: ten rolls to a setup, tied to the next by a monument and a roll."""

from itertools import count

import numpy as np

from certgen.survey.survey import Survey
from tests.simulate.records import levelled, read, roll, setup, survey, tilt

PER_SETUP = 10
SPACING_MM = 1000.0
SCATTER_MM = 0.013
SCATTER_MM_PER_M = 0.010


def long_line(rolls: int) -> Survey:
    """Return a line of that many rolls, each read with the laser and both ways with the level."""
    chance = np.random.default_rng(20)
    names = [f"R{number}" for number in range(1, rolls + 1)]
    groups = [names[start : start + PER_SETUP + 1] for start in range(0, rolls, PER_SETUP)]
    stations = {f"M{number}": number * PER_SETUP * SPACING_MM for number in range(len(groups) + 1)}
    setups = tuple(
        setup(
            f"S{number}",
            {name: _drawn(chance, SCATTER_MM) for name in (f"M{number}", f"M{number + 1}")},
            *(read(name, 0.0, _drawn(chance, SCATTER_MM)) for name in group),
        )
        for number, group in zip(count(), groups, strict=False)
    )
    levels = (
        tilt(name, _drawn(chance, SCATTER_MM_PER_M), turned=turned)
        for name in names
        for turned in (False, True)
    )
    placed = tuple(roll(name, place * SPACING_MM) for place, name in enumerate(names))
    return survey(placed, setups, stations, level=levelled(*levels))


def _drawn(chance: np.random.Generator, spread: float) -> float:
    return float(chance.normal(0.0, spread))
