"""What level and parallel share: the slope of a roll as an unknown, and the two ends of a reading."""

from collections.abc import Collection, Iterator

from certgen.engine.observation import Unknown, roll_block
from certgen.survey.survey import HeightReading, Roll, RollReading, Round, Side


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
