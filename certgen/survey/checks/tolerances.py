"""Tolerances: of the right kind, and stated wherever a roll is measured."""

from collections.abc import Iterator

from certgen.findings import Finding
from certgen.survey.checked import Checked
from certgen.survey.checks.needed import readings_of


def tolerances(root: Checked) -> Iterator[Finding]:
    """Yield every tolerance that is missing or does not fit together."""
    common = root["tolerances"]
    for node in common.keys.values():
        yield from _kind(node)
    for roll in root.list("rolls"):
        for aspect in ("level", "parallel"):
            own = roll.get(aspect)
            if own:
                yield from _kind(own)
    if common.sound:
        yield from _missing(root, "level", "level")
        yield from _missing(root, "parallel", "setups")


def _kind(node: Checked) -> Iterator[Finding]:
    limit, over = node.sure("limit"), node.get("over")
    if limit is None:
        return
    if limit.measure.kind == "length" and over is None:
        yield limit.fault(
            "a limit in length that does not say over what", "Add `over:` bearings, face or a length."
        )
    if limit.measure.kind != "length" and over is not None:
        yield over.fault(
            "a limit that is a slope holds over any length", "Remove `over:`, or write the limit as a length."
        )


def _missing(root: Checked, aspect: str, group: str) -> Iterator[Finding]:
    common = root["tolerances"]
    own = {roll["id"].text for roll in root.list("rolls") if roll.get(aspect)}
    read = {name for _, name, _ in readings_of(root, group)}
    if common.get(aspect) is None and read - own:
        hint = f"Add `{aspect}: {{limit: ...}}`, or give every roll its own."
        message = f"this is required, because `{group}:` holds readings"
        yield Finding("error", common.key_place, f"{common.where}.{aspect}", message, hint)
