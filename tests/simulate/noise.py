"""Noise on exact readings, each source in the shape it has in life: read-out even, the others normal."""

from dataclasses import replace

import numpy as np

from certgen.survey.survey import LevelReadings, MonumentReading, RollReading, Setup, Survey, Uncertainties


def noisy(rng: np.random.Generator, survey: Survey) -> Survey:
    """Return the survey with every reading disturbed by its stated uncertainties."""
    setups = tuple(_setup(rng, survey.uncertainty, setup) for setup in survey.setups)
    return replace(survey, setups=setups, level=_level(rng, survey))


def _setup(rng: np.random.Generator, stated: Uncertainties, setup: Setup) -> Setup:
    return replace(
        setup,
        monuments=tuple(_monument(rng, stated, each) for each in setup.monuments),
        readings=tuple(_roll(rng, stated, each) for each in setup.readings),
    )


def _laser_noise(rng: np.random.Generator, stated: Uncertainties) -> float:
    half_width = stated.reading_mm.value * np.sqrt(3.0)
    return float(rng.uniform(-half_width, half_width) + rng.normal(0.0, stated.repeatability_mm.value))


def _monument(rng: np.random.Generator, stated: Uncertainties, each: MonumentReading) -> MonumentReading:
    return replace(each, value_mm=each.value_mm + _laser_noise(rng, stated))


def _roll(rng: np.random.Generator, stated: Uncertainties, each: RollReading) -> RollReading:
    operator, drive = (_laser_noise(rng, stated) + rng.normal(0.0, stated.seating_mm.value) for _ in range(2))
    return replace(each, operator_mm=each.operator_mm + operator, drive_mm=each.drive_mm + drive)


def _level(rng: np.random.Generator, survey: Survey) -> LevelReadings | None:
    if survey.level is None:
        return None
    u = survey.uncertainty.level_mm_per_m.value
    slopes = (
        replace(each, slope_mm_per_m=each.slope_mm_per_m + rng.normal(0.0, u)) for each in survey.level.slopes
    )
    return replace(survey.level, slopes=tuple(slopes))
