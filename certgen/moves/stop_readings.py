"""What the instruments show when a roll stands at a slope: readings to stop at, and readings to aim at.

A laser's plane, or a roll, turns about a pivot. Along the line, the near target stands `pivot_to_near_mm`
behind the pivot and the far one `near_to_far_mm` behind the near one. A turn changes each reading by the turn
times the target's distance from the pivot, so both ends read the same at exactly one far reading. Lengths in
mm. Source: similar triangles; linear in the angle, as all of this program.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from certgen.moves.steps import Step, aim_mm, stop_reading_mm
from certgen.network.level import sag, zero_error
from certgen.network.solution import Solution
from certgen.survey.survey import LevelReadings, Roll, Round

Pivot = Literal["before near", "at near", "between", "at far", "beyond far"]


@dataclass(frozen=True, slots=True)
class LevelStop:
    """What the level shows at `at_mm` (from the operator-side bearing centre), turned as for `reading`.

    Positive where the drive side is high, in mm/m and, where the level states its sensitivity, divisions.
    """

    at_mm: float
    slope_mm_per_m: float
    divisions: float | None


def level_stop(solution: Solution, roll: Roll, which: Round, slope_mm_per_m: float) -> LevelStop | None:
    """Return what the level shows once the axis has this slope, where it last stood; None if it never did.

    s = q + 1000 taper / (2 face) + k (y - y_c) + z, the equation of the level network.
    """
    level, reading = solution.survey.level, solution.last.slopes.get((roll.id, which))
    if level is None or solution.level is None or reading is None:
        return None
    at_m = (reading.at_mm - roll.bearings_mm / 2.0) / 1000.0
    zero = solution.level.network.values[zero_error(level.instrument)]  # as estimated, mm/m
    shown = slope_mm_per_m + _taper(roll) + _sag(solution, roll) * at_m + zero
    return LevelStop(reading.at_mm, shown, _divisions(solution, level, shown))


def height_stop_mm(solution: Solution, roll: Roll, which: Round, step: Step) -> float | None:
    """Return the height to stop at for a roll read by heights: far end, near one zeroed; None for others.

    As the stop reading of the laser's cross plane, with the plane level; taper tips the line of the tops, and
    sag lifts both of them alike where the targets lie evenly about the middle.
    """
    reading = solution.last.heights.get((roll.id, which))
    if reading is None:
        return None
    stop = stop_reading_mm(roll, step.side, step.before_mm_per_m, step.aim_mm_per_m, -_taper(roll))
    lifts = [_sag(solution, roll) * ((y - roll.bearings_mm / 2.0) / 1000.0) ** 2 / 2.0 for y in reading.y_mm]
    return stop + (lifts[1] - lifts[0] if step.side == "drive" else lifts[0] - lifts[1])


def target_stop_mm(solution: Solution, roll: Roll, which: Round, step: Step) -> float:
    """Return the read-out of the laser's target to stop at, positive downstream: far end, near one zeroed."""
    azimuth = solution.azimuth(solution.last.setups[roll.id, which].id).value
    return stop_reading_mm(roll, step.side, step.before_mm_per_m, step.aim_mm_per_m, azimuth)


def _taper(roll: Roll) -> float:
    return 1000.0 * roll.taper_mm / (2.0 * roll.face_mm)


def _sag(solution: Solution, roll: Roll) -> float:
    """The sag of a roll as estimated, mm/m per metre; 0 where it was not told from its slope."""
    return 0.0 if solution.level is None else solution.level.network.values.get(sag(roll), 0.0)


def _divisions(solution: Solution, level: LevelReadings, slope: float) -> float | None:
    of = next(one for one in solution.survey.instruments if one.id == level.instrument)
    return None if of.sensitivity_mm_per_m is None else slope / of.sensitivity_mm_per_m


@dataclass(frozen=True, slots=True)
class Lever:
    """The distances of a setting. `pivot_to_near_mm` is negative where the near target lies before the pivot.

    So from minus `near_to_far_mm` to 0 the pivot stands between the targets, below that beyond the far one.
    `near_to_far_mm` is positive.
    """

    pivot_to_near_mm: float
    near_to_far_mm: float

    @property
    def pivot_to_far_mm(self) -> float:
        """The far target's distance from the pivot, with its sign."""
        return self.pivot_to_near_mm + self.near_to_far_mm

    @property
    def pivot(self) -> Pivot:
        """Where the pivot stands."""
        if self.pivot_to_near_mm >= 0.0:
            return "before near" if self.pivot_to_near_mm > 0.0 else "at near"
        if self.pivot_to_far_mm > 0.0:
            return "between"
        return "at far" if self.pivot_to_far_mm == 0.0 else "beyond far"

    def aim_mm(self, near_mm: float, far_mm: float) -> float:
        """Return the far reading at which both ends read the same."""
        return near_mm + aim_mm(self.pivot_to_near_mm, self.near_to_far_mm, far_mm - near_mm)

    def near_after_mm(self, near_mm: float, far_mm: float, reached_mm: float) -> float:
        """Return what the near end reads once the far one has been turned from `far_mm` to `reached_mm`.

        Raises ValueError with the pivot at the far target, whose reading no turn changes.
        """
        if self.pivot_to_far_mm == 0.0:
            msg = "no turn changes the reading of a far target at the pivot"
            raise ValueError(msg)
        return near_mm + (reached_mm - far_mm) * self.pivot_to_near_mm / self.pivot_to_far_mm


@dataclass(frozen=True, slots=True)
class Turn:
    """One turn, begun with the near end zeroed: the far reading, the aim, what was reached at both ends.

    `apart_mm` is far less near after the turn; zeroed again, the far end reads just that.
    """

    far_mm: float
    aim_mm: float
    reached_mm: float
    near_mm: float
    apart_mm: float


def turn(lever: Lever, far_mm: float, accuracy: float) -> Turn:
    """Return a turn that goes the share `accuracy` of its way: 1 hits the aim, 0.9 stops short of it."""
    aim = lever.aim_mm(0.0, far_mm)
    reached = far_mm + accuracy * (aim - far_mm)
    # by the turn itself and not by the far reading, so that a pivot at the far target is no exception
    near = -accuracy * far_mm / lever.near_to_far_mm * lever.pivot_to_near_mm
    return Turn(far_mm, aim, reached, near, reached - near)


def turns(lever: Lever, far_mm: float, accuracy: float, within_mm: float) -> Iterator[Turn]:
    """Yield turns until both ends agree within `within_mm`, the near end zeroed before each.

    Each leaves the share 1 - accuracy of the difference, so it ends for accuracies between 0 and 2; others
    never come nearer, and raise ValueError.
    """
    if not 0.0 < accuracy < 2.0:
        msg = f"turns of accuracy {accuracy} never bring the ends together"
        raise ValueError(msg)
    while abs(far_mm) > within_mm:
        made = turn(lever, far_mm, accuracy)
        yield made
        far_mm = made.apart_mm
