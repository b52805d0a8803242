"""Stated uncertainties as standard uncertainties.

A half width a is divided by √3 (rectangular, JCGM 100:2008 4.3.7), √6 (triangular, 4.3.9) or √2
(u-shaped, the arcsine distribution of a value that swings between its bounds); an expanded uncertainty
by its coverage factor (4.3.3).
"""

from math import inf, sqrt

from certgen.survey.checked import Checked
from certgen.survey.survey import Coverage, StandardUncertainty, Uncertainties

_DIVISORS = {"rectangular": sqrt(3), "triangular": sqrt(6), "u_shaped": sqrt(2)}


def uncertainties(node: Checked, scatter: StandardUncertainty | None) -> Uncertainties:
    """Return all uncertainties of the survey; `scatter` is that of its repeated readings."""
    return Uncertainties(
        coverage=_coverage(node["coverage"]),
        reading_mm=_standard(node.get("reading")),
        repeatability_mm=_repeatability(node.get("repeatability"), scatter),
        seating_mm=_standard(node.get("seating")),
        level_mm_per_m=_standard(node.get("level")),
        level_zero_mm_per_m=_standard(node.get("level_zero")),
        squareness_mm_per_m=_standard(node.get("squareness")),
    )


def _coverage(node: Checked) -> Coverage:
    factor, probability = node.get("k"), node.get("probability")
    return Coverage(factor.number if factor else None, probability.base if probability else None)


def _repeatability(node: Checked | None, scatter: StandardUncertainty | None) -> StandardUncertainty | None:
    return scatter if node and node.get("from") else _standard(node)


def _standard(node: Checked | None) -> StandardUncertainty | None:
    if node is None:
        return None
    degrees = node.get("dof")
    dof = degrees.number if degrees else inf
    if half := node.get("half_width"):
        shape = node["shape"].text
        stated = f"half width {half.measure.written}"
        return StandardUncertainty(half.base / _DIVISORS[shape], shape, stated, dof)
    if expanded := node.get("expanded"):
        stated = f"expanded {expanded.measure.written}, k = {node['k'].written}"
        return StandardUncertainty(expanded.base / node["k"].number, "normal", stated, dof)
    standard = node["standard"]
    return StandardUncertainty(standard.base, "normal", f"standard {standard.measure.written}", dof)
