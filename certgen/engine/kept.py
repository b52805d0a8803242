"""The readings that take part in the result: all but those that the survey sets aside openly."""

from dataclasses import dataclass, replace

from certgen.survey.survey import (
    HeightReading,
    LevelReadings,
    MonumentReading,
    RollReading,
    SlopeReading,
    Survey,
)

AnyReading = RollReading | MonumentReading | SlopeReading | HeightReading


@dataclass(frozen=True, slots=True)
class SetAside:
    """A reading that takes no part, with the setup it belongs to (None: level) and the reason."""

    setup: str | None
    reading: AnyReading
    reason: str


def kept(survey: Survey) -> Survey:
    """Return the survey without the readings that are set aside."""
    setups = tuple(
        replace(
            setup,
            monuments=tuple(r for r in setup.monuments if r.exclude is None),
            readings=tuple(r for r in setup.readings if r.exclude is None),
        )
        for setup in survey.setups
    )
    return replace(survey, setups=setups, level=_kept_level(survey.level))


def _kept_level(level: LevelReadings | None) -> LevelReadings | None:
    if level is None:
        return None
    slopes = tuple(r for r in level.slopes if r.exclude is None)
    return replace(level, slopes=slopes, heights=tuple(r for r in level.heights if r.exclude is None))


def set_aside(survey: Survey) -> tuple[SetAside, ...]:
    """Return the readings that are set aside, in the order of the survey."""
    every: list[tuple[str | None, AnyReading]] = []
    if survey.level is not None:
        every += [(None, slope) for slope in survey.level.slopes]
        every += [(None, height) for height in survey.level.heights]
    for setup in survey.setups:
        every += [(setup.id, monument) for monument in setup.monuments]
        every += [(setup.id, roll) for roll in setup.readings]
    return tuple(SetAside(setup, r, r.exclude) for setup, r in every if r.exclude is not None)
