"""The equations of a network: unknowns, observations, and what each observation was."""

from collections.abc import Mapping
from typing import NamedTuple

from certgen.survey.survey import StandardUncertainty


class Unknown(NamedTuple):
    """An unknown of the network: its kind, whose it is, and the block it is local to (None: shared)."""

    kind: str
    of: str
    detail: str = ""
    block: str | None = None


class Label(NamedTuple):
    """What an observation was: which setup read which roll or monument, on which side, in which round.

    `source` is roll, monument, level, height or prior. `series` numbers the readings of one roll in one
    setup and round; `where` is the path in the survey.
    """

    source: str
    setup: str | None = None
    roll: str | None = None
    monument: str | None = None
    side: str | None = None
    round: str | None = None
    series: int = 0
    where: str = ""


class Observation(NamedTuple):
    """One equation: the sum of coefficient times unknown equals `value` with standard uncertainty `sigma`.

    `parts` are the variances that make up sigma squared, by source; they sum to it. `at_m` is the place of a
    roll reading across the machine, in metres. `known` is what was taken off beforehand: `value` plus `known`
    is the reading itself. `said` is what the survey states of the one source of a prior, where the same
    source may be stated differently elsewhere; None where its name tells. `whose` tells statements that are
    made one by one (of a roll, an instrument) apart even where they read alike.
    """

    terms: Mapping[Unknown, float]
    value: float
    sigma: float
    label: Label
    parts: Mapping[str, float] = {}
    at_m: float = 0.0
    known: float = 0.0
    said: StandardUncertainty | None = None
    whose: str = ""


def roll_block(roll_id: str) -> str:
    """Return the block of one roll's own unknowns."""
    return f"roll {roll_id}"


def setup_block(setup_id: str) -> str:
    """Return the block of one setup's own unknowns."""
    return f"setup {setup_id}"
