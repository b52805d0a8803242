"""Targets: where a roll must stand cold so that it is level and parallel when running. Slopes in mm/m."""

from certgen.survey.survey import Roll, Survey


def level_target(roll: Roll) -> float:
    """Return minus the level slope that growth produces between the bearings."""
    return _slope(roll.growth.operator.up_mm - roll.growth.drive.up_mm, roll)


def parallel_target(survey: Survey, roll: Roll) -> float:
    """Return minus the parallel slope that growth produces, relative to that of the reference roll.

    A reference roll that itself turns while warming up takes the running direction of the line with it.
    """
    reference = next((r for r in survey.rolls if r.id == survey.reference.roll), None)
    return (_parallel_growth(reference) if reference is not None else 0.0) - _parallel_growth(roll)


def _parallel_growth(roll: Roll) -> float:
    return _slope(roll.growth.drive.downstream_mm - roll.growth.operator.downstream_mm, roll)


def _slope(difference_mm: float, roll: Roll) -> float:
    return 1000.0 * difference_mm / roll.bearings_mm
