"""The places across the machine at which rolls are read."""

from collections.abc import Iterator

from certgen.findings import Finding
from certgen.survey.checked import Checked
from certgen.survey.checks.needed import readings_of
from certgen.survey.figures import short

CLOSEST_TARGETS_MM = 1.0


def targets(root: Checked) -> Iterator[Finding]:
    """Yield every target and level place that a roll cannot have."""
    common = root.get("targets")
    yield from _order(common)
    by_name = {roll["id"].text: roll for roll in root.list("rolls")}
    read_at_ends = dict.fromkeys(_read_at_ends(root))
    for name, roll in by_name.items():
        own = roll.get("targets")
        yield from _order(own)
        if name in read_at_ends:
            yield from _fit(roll, own, common)
    yield from _level_places(root, by_name)


def _read_at_ends(root: Checked) -> Iterator[str]:
    for group in ("setups", "level"):
        for _, name, reading in readings_of(root, group):
            if reading.get("operator"):
                yield name


def _order(node: Checked | None) -> Iterator[Finding]:
    operator, drive = (node.sure("operator"), node.sure("drive")) if node else (None, None)
    if node is None or operator is None or drive is None:
        return
    hint = "Both count from the operator-side bearing centre: the operator-side target is the smaller."
    if abs(drive.base - operator.base) < CLOSEST_TARGETS_MM:
        yield node.fault("the two targets coincide", hint)
    elif operator.base > drive.base:
        yield node.fault("the operator-side target lies beyond the drive-side one", hint)


def _fit(roll: Checked, own: Checked | None, common: Checked | None) -> Iterator[Finding]:
    stated, bearings = own or common, roll.sure("bearings")
    if stated is None:
        hint = "Add `targets: {operator: ..., drive: ...}` here or for all rolls."
        yield roll.fault(f"roll {roll.called} is read at its ends, and it is not said where", hint)
        return
    operator, drive = stated.sure("operator"), stated.sure("drive")
    if operator is None or drive is None or bearings is None or operator.base >= drive.base:
        return
    over = max(-operator.base, drive.base - bearings.base)
    if over > drive.base - operator.base:
        yield _too_far(roll, own, over)


def _too_far(roll: Checked, own: Checked | None, over: float) -> Finding:
    message = f"the targets of roll {roll.called} lie {short(over)} mm outside its bearings"
    hint = "That is more than their distance from each other. Check the numbers and their units"
    return (own or roll).fault(message, f"{hint}{'.' if own else ', or give this roll its own `targets:`.'}")


def _level_places(root: Checked, by_name: dict[str, Checked]) -> Iterator[Finding]:
    for _, name, reading in readings_of(root, "level"):
        at, roll = reading.sure("at"), by_name.get(name)
        bearings = roll.sure("bearings") if roll else None
        if at and bearings and not 0 <= at.base <= bearings.base:
            hint = f"It counts from the operator-side bearing centre, up to {short(bearings.base)} mm."
            yield at.fault("the level cannot stand outside the bearings", hint)
