"""The equations of a network: unknowns, observations, what each one was, and its variance by source."""

from collections.abc import Collection, Iterator, Mapping
from math import sqrt
from typing import NamedTuple

from certgen.errors import CannotCompute
from certgen.survey.survey import (
    HeightReading,
    LevelCheck,
    Roll,
    RollReading,
    Round,
    Side,
    StandardUncertainty,
    Uncertainties,
)


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


def roll_slope(roll: Roll, in_round: Round, *, stayed: bool = False) -> Unknown:
    """Return the unknown slope of a roll in a round, mm/m.

    One that cannot be adjusted has one for both, and so has one that is held to have `stayed`.
    """
    one = stayed or roll.adjustable == "none"
    return Unknown("slope", roll.id, "both" if one else in_round, block=roll_block(roll.id))


def is_one(slopes: Collection[Unknown], roll: Roll) -> bool:
    """Return whether a roll has one slope for both rounds among the unknowns of a network."""
    return roll_slope(roll, "as_left", stayed=True) in slopes


def ends_of(reading: RollReading | HeightReading) -> Iterator[tuple[Side, float, float, int]]:
    """Yield side, value (mm), place across the machine (mm) and number of repeats of both ends."""
    operator, drive = zip(reading.y_mm, reading.repeats, strict=True)
    yield "operator", reading.operator_mm, *operator
    yield "drive", reading.drive_mm, *drive


def roll_parts(stated: Uncertainties, repeats: int) -> Mapping[str, float]:
    """Variances of one roll reading, mm²: read-out, repeatability and the seating of the target.

    The mean of `repeats` readings has that fraction of the repeatability's variance (JCGM 100:2008, 4.2.3);
    the target was set once, and the read-out may be off the same way each time.
    """
    parts = _parts(
        reading=stated.reading_mm, repeatability=stated.repeatability_mm, seating=stated.seating_mm
    )
    return {source: v / repeats if source == "repeatability" else v for source, v in parts.items()}


def monument_parts(stated: Uncertainties) -> Mapping[str, float]:
    """Variances of one monument reading, mm²: read-out and repeatability; its target stays in place."""
    return _parts(reading=stated.reading_mm, repeatability=stated.repeatability_mm)


def level_parts(stated: Uncertainties) -> Mapping[str, float]:
    """Variance of one reading of the precision level, (mm/m)²."""
    return _parts(level=stated.level_mm_per_m)


def zero_parts(stated: Uncertainties) -> Mapping[str, float]:
    """Variance of the zero error of a level that was never read reversed, (mm/m)².

    Where the survey does not state one, that of one level reading stands for it: the first edition of the
    rules took this; since then it must be stated.
    """
    return _parts(level_zero=stated.level_zero_mm_per_m or stated.level_mm_per_m)


def squareness_parts(stated: Uncertainties) -> Mapping[str, float]:
    """Variance of the laser's squareness error, (mm/m)²."""
    return _parts(squareness=stated.squareness_mm_per_m)


def drift_parts(check: LevelCheck) -> Mapping[str, float]:
    """Variance of a setup's direction at one reading, (mm/m)², by the first edition of the rules.

    A head that tilted by so much is taken to have turned as much, evenly over the setup: a rectangle as wide
    as the difference (JCGM 100:2008, 4.3.7). Zero where the level did not change.
    """
    return {"drift": (check.after_mm_per_m - check.before_mm_per_m) ** 2 / 12.0}


def sigma(parts: Mapping[str, float]) -> float:
    """Return the combined standard uncertainty of one observation; CannotCompute where it is zero."""
    total = sum(parts.values())
    if total <= 0.0:
        msg = f"the uncertainties of {', '.join(parts) or 'the readings'} add up to zero; state at least one"
        raise CannotCompute(msg)
    return sqrt(total)


def _parts(**stated: StandardUncertainty | None) -> Mapping[str, float]:
    return {source: one.value**2 for source, one in stated.items() if one is not None}
