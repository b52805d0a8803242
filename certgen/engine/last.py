"""Where each roll was read last in a round: what its live readings are seen from."""

from collections.abc import Mapping
from dataclasses import dataclass

from certgen.survey.survey import HeightReading, Round, Setup, SlopeReading, Survey

Key = tuple[str, Round]


@dataclass(frozen=True, slots=True)
class LastReadings:
    """By roll and round: the setup, the level reading and the pair of heights that came last."""

    setups: Mapping[Key, Setup]
    slopes: Mapping[Key, SlopeReading]
    heights: Mapping[Key, HeightReading]


def last_readings(survey: Survey) -> LastReadings:
    """Return the last readings of every roll; what was never read is absent."""
    level = survey.level
    return LastReadings(
        setups={(reading.roll, reading.round): s for s in survey.setups for reading in s.readings},
        slopes={(r.roll, r.round): r for r in level.slopes} if level else {},
        heights={(r.roll, r.round): r for r in level.heights} if level else {},
    )
