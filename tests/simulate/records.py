"""Short ways to write down a survey as records; every name, number and date is invented."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from hypothesis import settings

from certgen.survey.survey import (
    CertificateHead,
    Conditions,
    Contractor,
    Coverage,
    Customer,
    Instrument,
    LevelReadings,
    Limit,
    Line,
    Monument,
    MonumentReading,
    Positive,
    Reference,
    Roll,
    RollReading,
    Round,
    Setup,
    SlopeReading,
    StandardUncertainty,
    Survey,
    Uncertainties,
    Visit,
)

DAY = date(2026, 3, 2)
LIMIT = Limit(0.05, "0.05 mm/m")
TARGETS = (300.0, 2400.0)

# The same examples each time, nothing kept on disk.
EXAMPLES = settings(max_examples=20, deadline=None, derandomize=True, database=None)


def standard(value: float) -> StandardUncertainty:
    """Return a standard uncertainty."""
    return StandardUncertainty(value, "normal", f"{value}")


UNCERTAINTY = Uncertainties(
    Coverage(2.0, None),
    reading_mm=standard(0.003),
    repeatability_mm=standard(0.008),
    seating_mm=standard(0.010),
    level_mm_per_m=standard(0.010),
)
BLANK = Survey(
    sha256="0" * 64,
    certificate=CertificateHead("T-1", 0, DAY, "mm"),
    contractor=Contractor("Alder Survey", "1 Test Lane", "post@alder.example", "A. Example", "B. Example"),
    customer=Customer("Birch Films", "2 Test Lane", "post@birch.example", "O-1"),
    line=Line("Line 1", "L1", "Hall 1"),
    visit=Visit(DAY, DAY),
    conditions=Conditions(),
    instruments=(
        Instrument("laser", "sweeping laser", "1", DAY, date(2027, 3, 2), "certificate 1"),
        Instrument("level", "precision level", "2", DAY, date(2027, 3, 2), "certificate 2", 0.05),
    ),
    uncertainty=UNCERTAINTY,
    decision="guarded",
    reference=Reference("R1"),
    positive=Positive(),
    rolls=(),
    monuments=(),
    level=None,
    setups=(),
)
PLAIN_ROLL = Roll(
    id="R1",
    name="roll",
    station_mm=0.0,
    height_mm=1000.0,
    diameter_mm=200.0,
    face_mm=2400.0,
    bearings_mm=2700.0,
    adjustable="drive",
    targets_mm=TARGETS,
    level_limit=LIMIT,
    parallel_limit=LIMIT,
)


def roll(name: str, station_mm: float = 0.0, **changes: object) -> Roll:
    """Return a roll 2700 mm between bearings, adjustable at the drive side, with `changes`."""
    return replace(PLAIN_ROLL, id=name, name=f"roll {name}", station_mm=station_mm, **changes)


def read(
    name: str,
    operator_mm: float,
    drive_mm: float,
    in_round: Round = "as_found",
    y_mm: tuple[float, float] = TARGETS,
) -> RollReading:
    """Return one seating series."""
    return RollReading(name, in_round, operator_mm, drive_mm, y_mm, f"{in_round}.{name}")


def setup(name: str, monuments: Mapping[str, float], *readings: RollReading, **changes: object) -> Setup:
    """Return a setup that reads monuments (mm, positive to the drive side) and rolls."""
    taken = tuple(MonumentReading(each, value, f"{name}.{each}") for each, value in monuments.items())
    return replace(Setup(name, "laser", taken, readings), **changes)


def levelled(*slopes: SlopeReading) -> LevelReadings:
    """Return the level readings of one instrument."""
    return LevelReadings("level", slopes)


def tilt(
    name: str, slope: float, at_mm: float = 1350.0, *, turned: bool = False, in_round: Round = "as_found"
) -> SlopeReading:
    """Return one level reading, mm/m, positive where the drive side is high."""
    return SlopeReading(name, in_round, at_mm, slope, turned, f"level.{in_round}.{name}")


def survey(
    rolls: tuple[Roll, ...],
    setups: tuple[Setup, ...] = (),
    stations_mm: Mapping[str, float] | None = None,
    **changes: object,
) -> Survey:
    """Return a survey of these rolls with monuments at `stations_mm`; the first roll is the reference.

    A tolerance on an aspect that nobody read would be judged nowhere: such a one is left out.
    """
    rolls = tuple(
        replace(
            one,
            level_limit=one.level_limit if changes.get("level") else None,
            parallel_limit=one.parallel_limit if setups else None,
        )
        for one in rolls
    )
    monuments = tuple(Monument(name, at) for name, at in (stations_mm or {}).items())
    first = Reference(rolls[0].id)
    return replace(
        BLANK, **{"rolls": rolls, "setups": setups, "monuments": monuments, "reference": first, **changes}
    )
