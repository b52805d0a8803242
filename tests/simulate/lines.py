"""Invented lines of nine rolls, surveyed from three settings of the laser, with their truth."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from certgen.network.solution import Solution
from certgen.survey.survey import ROUNDS, Monument, Reference, RollReading, Setup, SlopeReading, Survey
from tests.simulate import records
from tests.simulate.scene import Laser, SpiritLevel, TrueRoll

STATIONS_MM = {"M1": -1500.0, "M2": 3000.0, "M3": 10500.0}
# Largest slopes and headings, mm/m. What is left out beyond first order is a cubic of these: 1e-7 mm/m.
LARGEST = 0.4
# Rolls read from each setting; R3 and R6 are read from two, so that they close.
SEEN = {"A": ("R1", "R2", "R3", "R4"), "B": ("R3", "R4", "R5", "R6"), "C": ("R6", "R7", "R8", "R9")}


@dataclass(frozen=True)
class TrueLine:
    """Rolls, laser settings, monument offsets towards the drive side, and what parallel is held against.

    `seen` are the rolls read from each setting.
    """

    rolls: tuple[TrueRoll, ...]
    lasers: tuple[Laser, ...]
    offsets_mm: Mapping[str, float]
    reference: Reference
    level: SpiritLevel
    seen: Mapping[str, Sequence[str]] = field(default_factory=lambda: SEEN)

    def survey(self, rng: np.random.Generator, **changes: object) -> Survey:
        """Read the whole line, free of noise; target rods are drawn anew for every seating."""
        rolls = tuple(roll.record for roll in self.rolls)
        level = records.levelled(*self._levelled())
        setups = tuple(self._setup(rng, laser) for laser in self.lasers)
        fixed = {"reference": self.reference, "level": level}
        return records.survey(rolls, setups, STATIONS_MM, **{**fixed, **changes})

    def parallel_errors(self, solved: Solution) -> list[float]:
        """Return found minus true, mm/m, for every roll and round."""
        return [
            solved.parallel.slopes[roll.record.id, which].value - roll.parallel[which]
            for roll in self.rolls
            for which in ROUNDS
        ]

    def level_errors(self, solved: Solution) -> list[float]:
        """Return found minus true, mm/m, for every roll and round."""
        return [
            solved.level.slopes[roll.record.id, which].value - roll.level[which]
            for roll in self.rolls
            for which in ROUNDS
        ]

    def _setup(self, rng: np.random.Generator, laser: Laser) -> Setup:
        monuments = tuple(
            laser.read_monument(Monument(name, at), self.offsets_mm[name]) for name, at in STATIONS_MM.items()
        )
        return laser.setup(monuments, tuple(self._readings(rng, laser)))

    def _readings(self, rng: np.random.Generator, laser: Laser) -> Iterator[RollReading]:
        for roll in self.rolls:
            if roll.record.id in self.seen[laser.name]:
                for which in ROUNDS:
                    aside = np.array([-roll.record.station_mm, 0.0, 0.0])
                    rod = aside + rng.uniform(-40.0, 40.0, 3) * [1.0, 0.0, 1.0]
                    yield laser.read_roll(roll, which, rod, zeroed=bool(rng.integers(2)))

    def _levelled(self) -> Iterator[SlopeReading]:
        for roll in self.rolls:
            places = (800.0, 1900.0) if roll.sag else (1350.0,)
            for which in ROUNDS:
                for at in places:
                    yield self.level.read(roll, which, at)
                    if roll.record.id in ("R1", "R4"):
                        yield self.level.read(roll, which, at, reverse=True)


def draw(
    rng: np.random.Generator,
    reference: Reference,
    *,
    square_error: float = 0.0,
    turn: str = "",
    seen: Mapping[str, Sequence[str]] = SEEN,
) -> TrueLine:
    """Draw a line; the setting named `turn` is reversed, `square_error` (rad) is the laser's."""
    rolls = tuple(_roll(rng, number, reference) for number in range(1, 10))
    lasers = tuple(
        Laser(name, heading=1e-3 * _slope(rng), square_error=square_error, reversed=name == turn)
        for name in seen
    )
    offsets = {name: 0.0 if name in reference.monuments else rng.uniform(-4.0, 4.0) for name in STATIONS_MM}
    return TrueLine(rolls, lasers, offsets, reference, SpiritLevel(_slope(rng)), seen)


def _roll(rng: np.random.Generator, number: int, reference: Reference) -> TrueRoll:
    """R1 cannot be moved; R5 and R8 sag, R2 and R8 taper, R4 lets both bearings move."""
    name = f"R{number}"
    kind = {1: "none", 4: "both", 7: "operator"}.get(number, "drive")
    record = records.roll(name, 1000.0 * number, adjustable=kind, taper_mm=0.3 if number in (2, 8) else 0.0)
    parallel, level = ((_slope(rng), 0.1 * _slope(rng)) for _ in range(2))
    if kind == "none":
        parallel, level = parallel[:1] * 2, level[:1] * 2
    if name == reference.roll:
        parallel = (0.0, 0.0)
    sag = 0.05 if number in (5, 8) else 0.0
    return TrueRoll(
        record, dict(zip(ROUNDS, parallel, strict=True)), dict(zip(ROUNDS, level, strict=True)), sag
    )


def _slope(rng: np.random.Generator) -> float:
    return float(rng.uniform(-LARGEST, LARGEST))


def stating(survey: Survey, squareness_mm_per_m: float) -> Survey:
    """Return the survey with this standard uncertainty of the laser's squareness."""
    stated = replace(survey.uncertainty, squareness_mm_per_m=records.standard(squareness_mm_per_m))
    return replace(survey, uncertainty=stated)
