"""Stated uncertainties as standard uncertainties.

A half width a is divided by √3 (rectangular, JCGM 100:2008 4.3.7), √6 (triangular, 4.3.9) or √2
(u-shaped, the arcsine distribution of a value that swings between its bounds); an expanded uncertainty
by its coverage factor (4.3.3).
"""

from math import sqrt

from certgen.survey.checked import Checked
from certgen.survey.survey import Coverage, StandardUncertainty, Uncertainties

_DIVISORS = {"rectangular": sqrt(3), "triangular": sqrt(6), "u_shaped": sqrt(2)}


def uncertainties(node: Checked) -> Uncertainties:
    """Return all uncertainties of the survey."""
    return Uncertainties(
        coverage=_coverage(node["coverage"]),
        reading_mm=_standard(node.get("reading")),
        repeatability_mm=_standard(node.get("repeatability")),
        seating_mm=_standard(node.get("seating")),
        level_mm_per_m=_standard(node.get("level")),
        level_zero_mm_per_m=_standard(node.get("level_zero")),
        squareness_mm_per_m=_standard(node.get("squareness")),
    )


def _coverage(node: Checked) -> Coverage:
    factor, probability = node.get("k"), node.get("probability")
    return Coverage(factor.number if factor else None, probability.base if probability else None)


def _standard(node: Checked | None) -> StandardUncertainty | None:
    if node is None:
        return None
    if half := node.get("half_width"):
        shape = node["shape"].text
        return StandardUncertainty(half.base / _DIVISORS[shape], shape, f"half width {half.measure.written}")
    if expanded := node.get("expanded"):
        stated = f"expanded {expanded.measure.written}, k = {node['k'].written}"
        return StandardUncertainty(expanded.base / node["k"].number, "normal", stated)
    standard = node["standard"]
    return StandardUncertainty(standard.base, "normal", f"standard {standard.measure.written}")
