"""The variances that make up one reading, by source, from the survey's statement of uncertainty."""

from collections.abc import Mapping
from math import sqrt

from certgen.errors import CannotCompute
from certgen.survey.survey import LevelCheck, StandardUncertainty, Uncertainties


def roll_parts(stated: Uncertainties, repeats: int = 1) -> Mapping[str, float]:
    """Variances of one roll reading, mm²: read-out, repeatability and the seating of the target.

    The mean of `repeats` readings has that fraction of the repeatability's variance (JCGM 100:2008, 4.2.3);
    the target was set once, and the read-out may be off the same way each time.
    """
    parts = _parts(
        reading=stated.reading_mm, repeatability=stated.repeatability_mm, seating=stated.seating_mm
    )
    return {source: v / repeats if source == "repeatability" else v for source, v in parts.items()}


def monument_parts(stated: Uncertainties) -> Mapping[str, float]:
    """Variances of one monument reading, mm²: read-out and repeatability; its target stays in place."""
    return _parts(reading=stated.reading_mm, repeatability=stated.repeatability_mm)


def level_parts(stated: Uncertainties) -> Mapping[str, float]:
    """Variance of one reading of the precision level, (mm/m)²."""
    return _parts(level=stated.level_mm_per_m)


def zero_parts(stated: Uncertainties) -> Mapping[str, float]:
    """Variance of the zero error of a level that was never read reversed, (mm/m)².

    Where the survey does not state one, that of one level reading stands for it: the first edition of the
    rules took this; since then it must be stated.
    """
    return _parts(level_zero=stated.level_zero_mm_per_m or stated.level_mm_per_m)


def squareness_parts(stated: Uncertainties) -> Mapping[str, float]:
    """Variance of the laser's squareness error, (mm/m)²."""
    return _parts(squareness=stated.squareness_mm_per_m)


def drift_parts(check: LevelCheck) -> Mapping[str, float]:
    """Variance of a setup's direction at one reading, (mm/m)², by the first edition of the rules.

    A head that tilted by so much is taken to have turned as much, evenly over the setup: a rectangle as wide
    as the difference (JCGM 100:2008, 4.3.7). Zero where the level did not change.
    """
    return {"drift": (check.after_mm_per_m - check.before_mm_per_m) ** 2 / 12.0}


def sigma(parts: Mapping[str, float]) -> float:
    """Return the combined standard uncertainty of one observation; CannotCompute where it is zero."""
    total = sum(parts.values())
    if total <= 0.0:
        msg = f"the uncertainties of {', '.join(parts) or 'the readings'} add up to zero; state at least one"
        raise CannotCompute(msg)
    return sqrt(total)


def _parts(**stated: StandardUncertainty | None) -> Mapping[str, float]:
    return {source: one.value**2 for source, one in stated.items() if one is not None}
