"""A roll line in three dimensions, read with exactly rotated planes: no small-angle step anywhere.

x runs along the machine, positive downstream; y across it from the operator to the drive side; z up.
A roll is a line in space with a cone around it, the laser two planes fixed to each other, a reading the
distance of a point from a plane. Angles in radians, lengths in mm, slopes in mm/m.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from certgen.survey.survey import Monument, MonumentReading, Roll, RollReading, Round, Setup, SlopeReading

Vector = NDArray[np.float64]


def turned(angle: float, vector: Vector) -> Vector:
    """Return a vector turned about the vertical, counterclockwise seen from above."""
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]]) @ vector


@dataclass(frozen=True)
class TrueRoll:
    """Where a roll really is: its axis slopes by round (drive end downstream, drive end high) and its sag."""

    record: Roll
    parallel: dict[Round, float]
    level: dict[Round, float]
    sag: float = 0.0

    def axis(self, in_round: Round, along_mm: float) -> Vector:
        """Return the point of the axis at a distance from the operator-side bearing centre."""
        p, q = self.parallel[in_round] / 1000.0, self.level[in_round] / 1000.0
        direction = np.array([p, 1.0, q])
        start = np.array([self.record.station_mm, 0.0, self.record.height_mm])
        return start + along_mm * direction / np.linalg.norm(direction)

    def top(self, in_round: Round, along_mm: float) -> float:
        """Return the height of the roll's top: axis, sagged, plus the radius of the cone."""
        from_middle = along_mm - self.record.bearings_mm / 2.0
        sagged = self.sag * 1e-6 * from_middle**2 / 2.0
        radius = (self.record.diameter_mm + self.record.taper_mm * from_middle / self.record.face_mm) / 2.0
        return float(self.axis(in_round, along_mm)[2] + sagged + radius)


@dataclass(frozen=True)
class Laser:
    """One setting of the laser: where it stands and how far it is turned off the machine.

    Its second plane stands 90° + `square_error` counterclockwise of its first. Normally the first sweeps
    across the machine; `reversed`, the instrument is turned so that the second does.
    """

    name: str
    heading: float
    at: Vector = field(default_factory=lambda: np.array([0.0, -900.0, 1500.0]))
    square_error: float = 0.0
    reversed: bool = False
    lean: float = 0.0
    instrument: str = "laser"

    def planes(self) -> tuple[Vector, Vector]:
        """Return the normals of the cross plane (pointing downstream) and of the machine-direction plane."""
        first = np.array([1.0, 0.0, 0.0])
        second = turned(np.pi / 2.0 + self.square_error, first)
        if self.reversed:
            back = -(np.pi / 2.0 + self.square_error)
            first, second = turned(back, second), -turned(back, first)
        return self._lent(turned(self.heading, first)), self._lent(turned(self.heading, second))

    def _lent(self, normal: Vector) -> Vector:
        tipped = normal + np.array([0.0, 0.0, self.lean])
        return np.asarray(tipped / np.linalg.norm(tipped))

    def read_roll(self, roll: TrueRoll, in_round: Round, rod: Vector, *, zeroed: bool = False) -> RollReading:
        """Read a target that stands off the axis by `rod` at both ends; `zeroed`: near end at zero."""
        across, _ = self.planes()
        ends = roll.record.targets_mm or (0.0, 0.0)
        points = [roll.axis(in_round, along) + rod for along in ends]
        operator, drive = (float((point - self.at) @ across) for point in points)
        zero = operator if zeroed else 0.0
        return RollReading(roll.record.id, in_round, operator - zero, drive - zero, ends, "")

    def read_monument(self, monument: Monument, offset_mm: float) -> MonumentReading:
        """Read a monument that stands `offset_mm` towards the drive side, at the laser's own height."""
        _, along = self.planes()
        point = np.array([monument.station_mm, offset_mm, self.at[2]])
        return MonumentReading(monument.id, float((point - self.at) @ along), "")

    def setup(self, monuments: tuple[MonumentReading, ...], readings: tuple[RollReading, ...]) -> Setup:
        """Return the record of this setting."""
        return Setup(self.name, self.instrument, monuments, readings, self.reversed)


@dataclass(frozen=True)
class SpiritLevel:
    """A precision level with a base, read as it lies: `zero_mm_per_m` is what it shows on a level surface."""

    zero_mm_per_m: float
    base_mm: float = 200.0

    def read(self, roll: TrueRoll, in_round: Round, at_mm: float, *, reverse: bool = False) -> SlopeReading:
        """Read the top of a roll; the level shows its own end's rise, the record the drive side's."""
        half = self.base_mm / 2.0
        rise = roll.top(in_round, at_mm + half) - roll.top(in_round, at_mm - half)
        surface = 1000.0 * rise / self.base_mm
        shown = (-surface if reverse else surface) + self.zero_mm_per_m
        return SlopeReading(roll.record.id, in_round, at_mm, -shown if reverse else shown, reverse, "")
