"""What level and parallel share: the slope of a roll as an unknown, and the two ends of a reading."""

from collections.abc import Iterator

from certgen.engine.observation import Unknown, roll_block
from certgen.survey.survey import HeightReading, Roll, RollReading, Round, Side


def roll_slope(roll: Roll, in_round: Round) -> Unknown:
    """Return the unknown slope of a roll in a round, mm/m; a roll that cannot move has one for both."""
    return Unknown(
        "slope", roll.id, "both" if roll.adjustable == "none" else in_round, block=roll_block(roll.id)
    )


def ends_of(reading: RollReading | HeightReading) -> Iterator[tuple[Side, float, float, int]]:
    """Yield side, value (mm), place across the machine (mm) and number of repeats of both ends."""
    operator, drive = zip(reading.y_mm, reading.repeats, strict=True)
    yield "operator", reading.operator_mm, *operator
    yield "drive", reading.drive_mm, *drive
