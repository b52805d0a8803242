"""What the instruments show when a roll stands at a slope: the readings a crew stops at."""

from dataclasses import dataclass

from certgen.engine.level import sag, zero_error
from certgen.engine.moves import stop_reading_mm
from certgen.engine.solution import Solution
from certgen.engine.steps import Step
from certgen.survey.survey import LevelReadings, Roll, Round


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
    if level is None or reading is None:
        return None
    at_m = (reading.at_mm - roll.bearings_mm / 2.0) / 1000.0
    shown = slope_mm_per_m + _taper(roll) + _sag(solution, roll) * at_m + _zero(solution, level)
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


def _zero(solution: Solution, level: LevelReadings) -> float:
    """The zero error of the level as estimated, mm/m."""
    network = solution.level.network if solution.level is not None else None
    return 0.0 if network is None else network.values.get(zero_error(level.instrument), 0.0)


def _sag(solution: Solution, roll: Roll) -> float:
    """The sag of a roll as estimated, mm/m per metre; 0 where it was not told from its slope."""
    return 0.0 if solution.level is None else solution.level.network.values.get(sag(roll), 0.0)


def _divisions(solution: Solution, level: LevelReadings, slope: float) -> float | None:
    of = next(one for one in solution.survey.instruments if one.id == level.instrument)
    return None if of.sensitivity_mm_per_m is None else slope / of.sensitivity_mm_per_m
