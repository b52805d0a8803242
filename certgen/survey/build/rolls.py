"""The rolls with what holds for each, as slopes; work done at bearings, the web, and stated uncertainties.

A half width a is divided by √3 (rectangular, JCGM 100:2008 4.3.7), √6 (triangular, 4.3.9) or √2
(u-shaped, the arcsine distribution of a value that swings between its bounds); an expanded uncertainty
by its coverage factor (4.3.3).
"""

from dataclasses import replace
from math import inf, sqrt
from typing import Literal, cast

from certgen.survey.checked import Checked
from certgen.survey.survey import (
    Adjustable,
    Adjustment,
    BearingGrowth,
    BearingTravel,
    Coverage,
    Growth,
    Limit,
    OtherSource,
    Roll,
    RunOut,
    ShimStock,
    Side,
    StandardUncertainty,
    Travel,
    Uncertainties,
    Web,
)
from certgen.survey.units import Measure

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


def adjustment(node: Checked) -> Adjustment:
    """Return one adjustment of one bearing."""
    up, downstream, read_to = (node.get(key) for key in ("up", "downstream", "read_to"))
    return Adjustment(
        roll=node["roll"].text,
        side=cast(Side, node["side"].text),
        up_mm=up.base if up else None,
        downstream_mm=downstream.base if downstream else None,
        read_to_mm=read_to.base if read_to else None,
    )


def shims(node: Checked | None) -> ShimStock | None:
    """Return the shims at hand."""
    return (
        ShimStock(tuple(item.base for item in node.list("stock")), int(node["max"].number)) if node else None
    )


def web(node: Checked | None) -> Web | None:
    """Return the web."""
    if node is None:
        return None
    return replace(
        bare_web(node), spans_mm={name: span.base for name, span in node.children("spans").items()}
    )


def bare_web(node: Checked) -> Web:
    """Return the web without its spans."""
    return Web(
        width_mm=node["width"].base,
        thickness_mm=node["thickness"].base,
        tension_n_per_mm=node["tension"].base,
        modulus_n_per_mm2=node["modulus"].base,
    )


def from_web(node: Checked, roll: Checked, root: Checked) -> Limit | None:
    """Return that share of the critical slope for the span before a roll; None where there is no span.

    The reference roll is not judged, so it needs no span: without one it takes the shortest of the line,
    by which it is judged only where a study sets another reference.
    """
    web, span_mm = root.get("web"), _span_mm(roll, root)
    if web is None or span_mm is None:
        return None
    share = node["web_fraction"]
    slope = share.base * bare_web(web).critical_mm_per_m(span_mm)
    return Limit(slope, f"{share.measure.written} of the slope at which one edge of the web goes slack")


def _span_mm(roll: Checked, root: Checked) -> float | None:
    spans, reference = root.children("web", "spans"), root.get("reference", "roll")
    own = spans.get(roll["id"].text)
    if own is not None:
        return own.base
    if reference is None or reference.text != roll["id"].text:
        return None
    return min((span.base for span in spans.values()), default=None)


def roll(node: Checked, root: Checked) -> Roll:
    """Return one roll; what it does not state itself it takes from the whole survey."""
    taper, was = node.get("taper"), node.get("was")
    stated = node.get("parallel") or root.get("tolerances", "parallel")
    parallel_limit = (
        from_web(stated, node, root) if stated and "web_fraction" in stated.keys else limit(stated, node)
    )
    return Roll(
        id=node["id"].text,
        name=node["name"].text,
        station_mm=node["station"].base,
        height_mm=node["height"].base,
        diameter_mm=node["diameter"].base,
        face_mm=node["face"].base,
        bearings_mm=node["bearings"].base,
        adjustable=cast(Adjustable, node["adjustable"].text),
        targets_mm=targets(node.get("targets") or root.get("targets")),
        taper_mm=taper.base if taper else 0.0,
        growth=Growth(_growth(node, "operator"), _growth(node, "drive")),
        travel=travel(node.get("travel")),
        level_limit=limit(node.get("level") or root.get("tolerances", "level"), node),
        parallel_limit=parallel_limit,
        adjacent_limit=limit(root.get("tolerances", "adjacent"), node),
        was=was.text if was else None,
        run_out=_run_out(node.get("run_out")),
    )


def targets(node: Checked | None) -> tuple[float, float] | None:
    """Return the target positions from the operator-side bearing centre, operator side first."""
    return (node["operator"].base, node["drive"].base) if node else None


def _growth(node: Checked, side: str) -> BearingGrowth:
    up, downstream = (_amount(node.get("growth", side, way)) for way in ("up", "downstream"))
    return BearingGrowth(up[0], downstream[0], up[1], downstream[1])


def _amount(node: Checked | None) -> tuple[float, StandardUncertainty | None]:
    """Return an amount in mm and its uncertainty, where that is stated beside it."""
    if node is None:
        return 0.0, None
    value = node.get("value")
    return (value.base, standard(node)) if value else (node.base, None)


def _run_out(node: Checked | None) -> RunOut | None:
    u = standard(node)
    angles = node.get("angles") if node else None
    return None if u is None else RunOut(u, int(angles.number) if angles else 1)


def travel(node: Checked | None) -> Travel:
    """Return how far each bearing can be moved; what is stated for neither by itself holds for both."""
    if node is None:
        return Travel()
    if "operator" in node.keys or "drive" in node.keys:
        return Travel(_travel(node.get("operator")), _travel(node.get("drive")))
    return Travel(_travel(node), _travel(node))


def _travel(node: Checked | None) -> BearingTravel:
    ways = (node.get(way) if node else None for way in ("up", "down", "upstream", "downstream"))
    return BearingTravel(*(way.base if way else None for way in ways))


def limit(node: Checked | None, of: Checked) -> Limit | None:
    """Return a tolerance as a slope: a limit in length is divided by what it holds over on this roll."""
    if node is None:
        return None
    stated, over = node["limit"].measure, node.get("over")
    if stated.kind != "length" or over is None:
        return Limit(stated.value, stated.written)
    if isinstance(over.value, Measure):
        return Limit(stated.value / over.base * 1000, f"{stated.written} over {over.measure.written}")
    return Limit(stated.value / of[over.text].base * 1000, f"{stated.written} over {over.text}")
