"""Stated uncertainties as standard uncertainties.

A half width a is divided by √3 (rectangular, JCGM 100:2008 4.3.7), √6 (triangular, 4.3.9) or √2
(u-shaped, the arcsine distribution of a value that swings between its bounds); an expanded uncertainty
by its coverage factor (4.3.3).
"""

from math import inf, sqrt
from typing import Literal, cast

from certgen.survey.checked import Checked
from certgen.survey.survey import Coverage, OtherSource, StandardUncertainty, Uncertainties

_DIVISORS = {"rectangular": sqrt(3), "triangular": sqrt(6), "u_shaped": sqrt(2)}


def uncertainties(node: Checked, scatter: StandardUncertainty | None) -> Uncertainties:
    """Return all uncertainties of the survey; `scatter` is that of its repeated readings."""
    return Uncertainties(
        coverage=_coverage(node["coverage"]),
        reading_mm=standard(node.get("reading")),
        repeatability_mm=_repeatability(node.get("repeatability"), scatter),
        seating_mm=standard(node.get("seating")),
        level_mm_per_m=standard(node.get("level")),
        level_zero_mm_per_m=standard(node.get("level_zero")),
        level_plane_mm_per_m=standard(node.get("level_plane")),
        squareness_mm_per_m=standard(node.get("squareness")),
        other=tuple(_other(one) for one in node.list("other")),
    )


def _other(node: Checked) -> OtherSource:
    source = node.get("source")
    return OtherSource(
        name=node["name"].text,
        applies=cast(Literal["level", "parallel"], node["applies"].text),
        shared=cast(Literal["line", "setup", "roll", "reading"], node["shared"].text),
        u=_sure(node),
        source=source.text if source else None,
    )


def _coverage(node: Checked) -> Coverage:
    factor, probability = node.get("k"), node.get("probability")
    return Coverage(factor.number if factor else None, probability.base if probability else None)


def _repeatability(node: Checked | None, scatter: StandardUncertainty | None) -> StandardUncertainty | None:
    return scatter if node and node.get("from") else standard(node)


def standard(node: Checked | None) -> StandardUncertainty | None:
    """Return an uncertainty in any of its forms as a standard uncertainty; None where it is not stated."""
    return None if node is None else _sure(node)


def _sure(node: Checked) -> StandardUncertainty:
    degrees = node.get("dof")
    dof = degrees.number if degrees else inf
    if half := node.get("half_width"):
        shape = node["shape"].text
        stated = f"half width {half.measure.written}"
        return StandardUncertainty(half.base / _DIVISORS[shape], shape, stated, dof)
    if expanded := node.get("expanded"):
        stated = f"expanded {expanded.measure.written}, k = {node['k'].written}"
        return StandardUncertainty(expanded.base / node["k"].number, "normal", stated, dof)
    size = node["standard"]
    return StandardUncertainty(size.base, "normal", f"standard {size.measure.written}", dof)
