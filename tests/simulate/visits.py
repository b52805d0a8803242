"""Visits to one invented line: the same true rolls read again, as they stand on another day."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

import numpy as np

from certgen.network.solution import Solution, solve_survey
from certgen.survey.survey import ROUNDS, CertificateHead, Reference, Roll, Survey, Visit
from tests.simulate import records
from tests.simulate.lines import TrueLine, draw
from tests.simulate.noise import noisy

YEARS = (date(2026, 3, 2), date(2027, 3, 2), date(2028, 3, 2), date(2029, 3, 2))


def line(seed: int, reference: Reference | None = None) -> TrueLine:
    """Return a line whose rolls stand still: as left they stand as they were found."""
    drawn = draw(np.random.default_rng(seed), reference or Reference("R1"))
    still = tuple(
        replace(
            roll,
            parallel=dict.fromkeys(ROUNDS, roll.parallel["as_found"]),
            level=dict.fromkeys(ROUNDS, roll.level["as_found"]),
        )
        for roll in drawn.rolls
    )
    return replace(drawn, rolls=still)


def turned(one: TrueLine, by: Mapping[str, float], *, level: bool = False) -> TrueLine:
    """Return the line with rolls turned by slopes (mm/m), in both rounds alike."""
    key = "level" if level else "parallel"
    rolls = tuple(
        replace(
            roll,
            **{
                key: {
                    which: slope + by.get(roll.record.id, 0.0) for which, slope in getattr(roll, key).items()
                }
            },
        )
        for roll in one.rolls
    )
    return replace(one, rolls=rolls)


def visit(one: TrueLine, number: int, rng: np.random.Generator, *, noise: bool = True) -> Survey:
    """Return the survey of the line in the year of that number, read once, as found."""
    day = YEARS[number]
    exact = one.survey(rng)
    once = replace(
        exact,
        setups=tuple(
            replace(setup, readings=tuple(r for r in setup.readings if r.round == "as_found"))
            for setup in exact.setups
        ),
        level=replace(exact.level, slopes=tuple(r for r in exact.level.slopes if r.round == "as_found")),
    )
    return dated(noisy(rng, once) if noise else once, day)


def dated(survey: Survey, day: date) -> Survey:
    """Return the survey as one of that day, with a number and a digest of its own."""
    head = CertificateHead(f"T-{day.year}", 0, day, "mm")
    return replace(survey, certificate=head, visit=Visit(day, day), sha256=f"{day.year:064d}")


def solved(*surveys: Survey) -> list[Solution]:
    """Return the surveys solved."""
    return [solve_survey(survey) for survey in surveys]


def pair_of_rolls(first: Mapping[str, float], second: Mapping[str, float]) -> tuple[Survey, Survey]:
    """Return two visits of rolls read once from one setup, by drive-side readings (mm; operator side 0)."""
    return tuple(  # type: ignore[return-value]
        dated(_read_once(readings), day) for readings, day in zip((first, second), YEARS, strict=False)
    )


def _read_once(readings: Mapping[str, float]) -> Survey:
    rolls: tuple[Roll, ...] = tuple(records.roll(name, 1000.0 * index) for index, name in enumerate(readings))
    taken = (records.read(name, 0.0, drive) for name, drive in readings.items())
    return records.survey(rolls, (records.setup("A", {}, *taken),))
