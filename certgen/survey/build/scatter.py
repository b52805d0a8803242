"""The scatter of repeated readings: a pooled standard deviation (type A, JCGM 100:2008, 4.2)."""

from collections.abc import Iterator
from math import sqrt
from statistics import fmean

from certgen.survey.build.readings import repeated
from certgen.survey.checked import Checked
from certgen.survey.checks.needed import readings_of
from certgen.survey.survey import StandardUncertainty


def scatter(root: Checked) -> StandardUncertainty | None:
    """Return the pooled standard deviation of one reading, mm; None where no reading was repeated.

    Readings that were set aside count as little here as in the result.
    """
    ends = list(_ends(root))
    dof = sum(len(end) - 1 for end in ends)
    if dof == 0:
        return None
    squares = sum((value - fmean(end)) ** 2 for end in ends for value in end)
    stated = f"scatter of repeated readings, {dof} degrees of freedom"
    return StandardUncertainty(sqrt(squares / dof), "normal", stated, float(dof))


def _ends(root: Checked) -> Iterator[list[float]]:
    for group in ("setups", "level"):
        for _, _, reading in readings_of(root, group):
            if reading.get("operator") and not reading.get("exclude"):
                yield from repeated(reading)
