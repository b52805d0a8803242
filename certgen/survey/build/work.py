"""What was done at the bearings, with which shims, and the web that runs over the rolls."""

from dataclasses import replace
from typing import cast

from certgen.survey.checked import Checked
from certgen.survey.survey import Adjustment, ShimStock, Side, Web


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
