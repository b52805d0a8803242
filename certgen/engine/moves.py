"""What to move at which bearing, and the live reading to stop at. Lengths in mm, slopes in mm/m."""

from dataclasses import dataclass

from certgen.survey.survey import Roll, Side

_NO_ERROR_MM_PER_M = 1e-9  # an error so small is rounding of the arithmetic


@dataclass(frozen=True, slots=True)
class Move:
    """One move of one bearing: `amount_mm` is downstream (parallel) or up (level); the other bearing stays.

    `stop_reading_mm` is the live reading to stop at (parallel only), in the engine's sign, positive
    downstream: target left at the far position from the turning bearing, near one zeroed before.
    `split_mm` is the alternative about the centre, (operator, drive); None where one bearing cannot move.
    """

    side: Side
    amount_mm: float
    stop_reading_mm: float | None = None
    split_mm: tuple[float, float] | None = None


def bearing_move_mm(error_mm_per_m: float, bearings_mm: float, side: Side) -> float:
    """Return the move that takes out an error slope by turning the roll about its other bearing.

    The slope is (drive end - operator end) / bearing distance, so the drive bearing moves against the error
    and the operator bearing with it. Source: plane geometry, small angles.
    """
    amount = error_mm_per_m * bearings_mm / 1000.0
    return -amount if side == "drive" else amount


def aim_mm(pivot_to_near_mm: float, near_to_far_mm: float, far_mm: float) -> float:
    """Return the far reading to aim at, near one zeroed, so that after turning both ends read the same.

    The pivot lies `pivot_to_near_mm` before the near target, and the far target `near_to_far_mm` behind it.
    Source: similar triangles.
    """
    return -(pivot_to_near_mm / near_to_far_mm) * far_mm


def stop_reading_mm(
    roll: Roll, side: Side, slope_mm_per_m: float, target_mm_per_m: float, azimuth: float
) -> float:
    """Return the live reading to stop at when `side` is moved, target at the far end, near end zeroed.

    The far end reads (slope - azimuth) * (far - near) before the move and gains (target - slope) times its
    distance from the turning bearing. With azimuth and target zero this is `aim_mm`. Slopes and `azimuth`
    (direction of the laser's cross plane) in mm/m. Needs the roll's targets.
    """
    if roll.targets_mm is None:
        msg = f"roll {roll.id} has no target positions"
        raise ValueError(msg)
    operator, drive = roll.targets_mm
    near, far, turning = (operator, drive, 0.0) if side == "drive" else (drive, operator, roll.bearings_mm)
    before = (slope_mm_per_m - azimuth) * (far - near)
    return (before + (target_mm_per_m - slope_mm_per_m) * (far - turning)) / 1000.0


def raising_side(roll: Roll, error_mm_per_m: float) -> Side | None:
    """Return the bearing to move for a level error: where both can, the one to be raised; None if neither."""
    if roll.adjustable == "both":
        return "operator" if error_mm_per_m > _NO_ERROR_MM_PER_M else "drive"
    return None if roll.adjustable == "none" else roll.adjustable


def split_move_mm(error_mm_per_m: float, bearings_mm: float) -> tuple[float, float]:
    """Return the moves (operator, drive) that take out an error by turning the roll about its centre."""
    half = error_mm_per_m * bearings_mm / 2000.0
    return half, -half
