"""The rolls with what holds for each: targets, growth and tolerances as slopes."""

from typing import cast

from certgen.survey.build.uncertainty import standard
from certgen.survey.build.web_limit import from_web
from certgen.survey.checked import Checked
from certgen.survey.survey import (
    Adjustable,
    BearingGrowth,
    BearingTravel,
    Growth,
    Limit,
    Roll,
    RunOut,
    StandardUncertainty,
    Travel,
)
from certgen.survey.units import Measure


def roll(node: Checked, root: Checked) -> Roll:
    """Return one roll; what it does not state itself it takes from the whole survey."""
    taper, was = node.get("taper"), node.get("was")
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
        parallel_limit=_parallel_limit(node, root),
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


def _parallel_limit(node: Checked, root: Checked) -> Limit | None:
    stated = node.get("parallel") or root.get("tolerances", "parallel")
    return from_web(stated, node, root) if stated and "web_fraction" in stated.keys else limit(stated, node)


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
