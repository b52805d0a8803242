"""The survey as the engine sees it: frozen records, units in the names.

Lengths are millimetres, slopes mm/m, temperatures °C. Across the machine, y is measured from the
operator-side bearing centre towards the drive side; along it, x (the station) is positive downstream.
Readings are already in the engine's signs: rolls positive downstream, monuments positive towards the
drive side, level positive where the drive side is high.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from math import inf
from typing import Literal

from certgen.findings import Place
from certgen.survey.edition import EDITION
from certgen.survey.quantities import Every

Round = Literal["as_found", "as_left"]
Side = Literal["operator", "drive"]
Adjustable = Literal["none", "operator", "drive", "both"]
PrintedUnits = Literal["mm", "in", "both"]
Decision = Literal["simple", "guarded", "four_way"]
Paper = Literal["A5", "A4", "A3", "letter"]

ROUNDS: tuple[Round, Round] = ("as_found", "as_left")


@dataclass(frozen=True, slots=True)
class CertificateHead:
    """What identifies the certificate, what it replaces and why, and how it is printed."""

    number: str
    revision: int
    issued: date
    units: PrintedUnits
    paper: Paper = "A4"
    supersedes: str | None = None
    reason: str | None = None


@dataclass(frozen=True, slots=True)
class Contractor:
    """Who surveyed the line."""

    name: str
    address: str
    contact: str
    surveyed_by: str
    approved_by: str


@dataclass(frozen=True, slots=True)
class Customer:
    """Whom the line belongs to."""

    name: str
    address: str
    contact: str
    order: str


@dataclass(frozen=True, slots=True)
class Line:
    """The roll line that was surveyed; `country` is the code of ISO 3166-1 where it stands."""

    name: str
    asset: str
    location: str
    country: str | None = None


@dataclass(frozen=True, slots=True)
class Visit:
    """First and last day of the work, and how often the plant has the line surveyed, where it says so.

    `next_by` is the day by which the contractor advises the next survey, `next_why` the reason.
    """

    started: date
    finished: date
    interval: Every | None = None
    next_by: date | None = None
    next_why: str | None = None


@dataclass(frozen=True, slots=True)
class Conditions:
    """The surroundings during the work, as far as they were noted."""

    temperature_c: float | None = None
    notes: str | None = None


@dataclass(frozen=True, slots=True)
class StandardUncertainty:
    """A standard uncertainty (`value`: mm, mm/m or a fraction by its use) and how the survey stated it.

    `distribution` is normal, rectangular, triangular or u_shaped; `stated` is the statement as text,
    for the budget ("half width 0.05 thou"); `dof` its degrees of freedom, infinite where it is exactly known.
    """

    value: float
    distribution: str
    stated: str
    dof: float = inf


@dataclass(frozen=True, slots=True)
class Instrument:
    """One instrument with its calibration. `sensitivity_mm_per_m` is the slope of one division of a level.

    `scale` is the uncertainty of its scale as a fraction of whatever it reads.
    """

    id: str
    kind: str
    serial: str
    calibrated: date
    due: date
    traceable_to: str
    sensitivity_mm_per_m: float | None = None
    scale: StandardUncertainty | None = None


@dataclass(frozen=True, slots=True)
class OtherSource:
    """A further source of uncertainty, of slope (mm/m), with what it is one and the same error for."""

    name: str
    applies: Literal["level", "parallel"]
    shared: Literal["line", "setup", "roll", "reading"]
    u: StandardUncertainty
    source: str | None = None


@dataclass(frozen=True, slots=True)
class Coverage:
    """How U is made from u: by a factor `k`, or by a coverage `probability` (0 to 1); one of them is None."""

    k: float | None
    probability: float | None


@dataclass(frozen=True, slots=True)
class Uncertainties:
    """The standard uncertainties of the survey: lengths in mm, slopes in mm/m; None where not stated."""

    coverage: Coverage
    reading_mm: StandardUncertainty | None = None
    repeatability_mm: StandardUncertainty | None = None
    seating_mm: StandardUncertainty | None = None
    level_mm_per_m: StandardUncertainty | None = None
    level_zero_mm_per_m: StandardUncertainty | None = None
    level_plane_mm_per_m: StandardUncertainty | None = None
    squareness_mm_per_m: StandardUncertainty | None = None
    other: tuple[OtherSource, ...] = ()


@dataclass(frozen=True, slots=True)
class Limit:
    """A tolerance on the size of an error slope, and how the survey stated it ("4 thou over bearings")."""

    slope_mm_per_m: float
    stated: str


@dataclass(frozen=True, slots=True)
class BearingGrowth:
    """What one bearing does between this survey and running, in mm, and how well that is known, if stated."""

    up_mm: float = 0.0
    downstream_mm: float = 0.0
    up_u: StandardUncertainty | None = None
    downstream_u: StandardUncertainty | None = None


@dataclass(frozen=True, slots=True)
class Growth:
    """What both bearings of a roll do between this survey and running."""

    operator: BearingGrowth = BearingGrowth()
    drive: BearingGrowth = BearingGrowth()


@dataclass(frozen=True, slots=True)
class BearingTravel:
    """How far one bearing can be moved from where it was found, in mm, never negative; None: not limited."""

    up_mm: float | None = None
    down_mm: float | None = None
    upstream_mm: float | None = None
    downstream_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Travel:
    """How far both bearings of a roll can be moved from where they were found."""

    operator: BearingTravel = BearingTravel()
    drive: BearingTravel = BearingTravel()


@dataclass(frozen=True, slots=True)
class RunOut:
    """How far the surface under a target runs out from the roll's axis, in mm, at either end by itself.

    Seating after seating of a round was read at `angles` angles of the roll in turn, between which it was
    turned: at 1, all of them share one error.
    """

    u: StandardUncertainty
    angles: int = 1


@dataclass(frozen=True, slots=True)
class Roll:
    """One roll. `taper_mm` is its drive-side diameter minus its operator-side diameter over the face.

    `level_limit`, `parallel_limit` are the tolerances that hold for this roll (None: that aspect has none);
    `adjacent_limit` is the tolerance of this roll against the one before it along the web. `was` is the id
    that the survey before had it under, where that was another one.
    """

    id: str
    name: str
    station_mm: float
    height_mm: float
    diameter_mm: float
    face_mm: float
    bearings_mm: float
    adjustable: Adjustable
    targets_mm: tuple[float, float] | None
    taper_mm: float = 0.0
    growth: Growth = Growth()
    travel: Travel = Travel()
    level_limit: Limit | None = None
    parallel_limit: Limit | None = None
    adjacent_limit: Limit | None = None
    was: str | None = None
    run_out: RunOut | None = None


@dataclass(frozen=True, slots=True)
class Monument:
    """A floor monument at its station along the machine."""

    id: str
    station_mm: float


@dataclass(frozen=True, slots=True)
class RollReading:
    """Both ends of one roll read from one setup: one seating series with its own target height.

    `y_mm` holds the target positions from the operator-side bearing centre, operator side first;
    readings are positive downstream. `where` is its path in the survey. Readings are means where they were
    repeated, `repeats` times at each end; `exclude` is the reason for which it is set aside.
    """

    roll: str
    round: Round
    operator_mm: float
    drive_mm: float
    y_mm: tuple[float, float]
    where: str
    repeats: tuple[int, int] = (1, 1)
    exclude: str | None = None


@dataclass(frozen=True, slots=True)
class MonumentReading:
    """One monument read from one setup, positive towards the drive side.

    `moment` tells when: 0 before the rolls of the setup, 1 after them, evenly between where it was read more
    than twice.
    """

    monument: str
    value_mm: float
    where: str
    exclude: str | None = None
    moment: float = 0.0


@dataclass(frozen=True, slots=True)
class LevelCheck:
    """The laser's level before and after a setup's readings, in mm/m."""

    before_mm_per_m: float
    after_mm_per_m: float


@dataclass(frozen=True, slots=True)
class Setup:
    """One setting of the laser: an unknown direction and offset of its own."""

    id: str
    instrument: str
    monuments: tuple[MonumentReading, ...]
    readings: tuple[RollReading, ...]
    reversed: bool = False
    day: date | None = None
    level_check: LevelCheck | None = None


@dataclass(frozen=True, slots=True)
class SlopeReading:
    """One level reading at `at_mm` along the face (from the operator-side bearing centre), drive side high.

    `reversed` marks the reading taken with the level turned end for end at the same place.
    """

    roll: str
    round: Round
    at_mm: float
    slope_mm_per_m: float
    reversed: bool
    where: str
    exclude: str | None = None


@dataclass(frozen=True, slots=True)
class HeightReading:
    """The heights of both ends of a roll over one level plane, positive up; the rest as for RollReading."""

    roll: str
    round: Round
    operator_mm: float
    drive_mm: float
    y_mm: tuple[float, float]
    where: str
    repeats: tuple[int, int] = (1, 1)
    exclude: str | None = None


@dataclass(frozen=True, slots=True)
class LevelReadings:
    """All level readings of the visit, of one instrument."""

    instrument: str
    slopes: tuple[SlopeReading, ...] = ()
    heights: tuple[HeightReading, ...] = ()


@dataclass(frozen=True, slots=True)
class Adjustment:
    """What was really done at one bearing, in mm; None where that direction was not touched.

    `read_to_mm` is the smallest step of what the move was read with; None where that is not stated.
    """

    roll: str
    side: Side
    up_mm: float | None = None
    downstream_mm: float | None = None
    read_to_mm: float | None = None


@dataclass(frozen=True, slots=True)
class ShimStock:
    """The shim thicknesses at hand and the most pieces in one pack."""

    stock_mm: tuple[float, ...]
    max: int


@dataclass(frozen=True, slots=True)
class Web:
    """The web that runs over the rolls; `spans_mm` is the free span before each roll, by roll id."""

    width_mm: float
    thickness_mm: float
    tension_n_per_mm: float
    modulus_n_per_mm2: float
    spans_mm: Mapping[str, float] = field(default_factory=dict)

    @property
    def strain(self) -> float:
        """The strain that the tension gives the web, a fraction."""
        return self.tension_n_per_mm / (self.modulus_n_per_mm2 * self.thickness_mm)

    def critical_mm_per_m(self, span_mm: float) -> float:
        """Return the slope at which one edge goes slack: strain x span / width (docs/web_tolerance.md)."""
        return 1000.0 * self.strain * span_mm / self.width_mm


@dataclass(frozen=True, slots=True)
class Positive:
    """Which way a positive reading meant in the survey file; the records themselves are already converted."""

    roll: Literal["downstream", "upstream"] = "downstream"
    monument: Literal["drive", "operator"] = "drive"

    @property
    def roll_sign(self) -> float:
        """What turns a roll reading between the engine's sign and the survey's own."""
        return -1.0 if self.roll == "upstream" else 1.0

    @property
    def monument_sign(self) -> float:
        """What turns a monument reading between the engine's sign and the survey's own."""
        return -1.0 if self.monument == "operator" else 1.0


@dataclass(frozen=True, slots=True)
class Reference:
    """What parallel is measured against: one roll, or an established offset line of monuments."""

    roll: str | None = None
    monuments: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Survey:
    """One visit to one line. `source` holds the file's exact bytes, `places` where each key stood in it.

    `edition` is that of the rules by which it is checked and computed (edition.py).
    """

    sha256: str
    certificate: CertificateHead
    contractor: Contractor
    customer: Customer
    line: Line
    visit: Visit
    conditions: Conditions
    instruments: tuple[Instrument, ...]
    uncertainty: Uncertainties
    decision: Decision
    reference: Reference
    positive: Positive
    rolls: tuple[Roll, ...]
    monuments: tuple[Monument, ...]
    level: LevelReadings | None
    setups: tuple[Setup, ...]
    adjustments: tuple[Adjustment, ...] = ()
    shims: ShimStock | None = None
    web: Web | None = None
    notes: tuple[str, ...] = ()
    edition: int = EDITION
    places: Mapping[str, Place] = field(default_factory=dict, compare=False, repr=False)
    source: bytes = field(default=b"", compare=False, repr=False)
