"""Readings of both ends of a roll that no roll of a line can have given, and the places they were read at.

Heights stand over the level plane, so their slope is the roll's own. A reading with the laser holds the angle
of its plane to the line as well, which may be anything: that angle is the same for all that one setup read,
so only what sets a reading apart from the rest of its setup is judged. The bound is that of a level reading:
a roll beyond it would be 6 degrees out of its line. Readings that are set aside are not judged.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import replace
from statistics import fmean
from typing import NamedTuple

from certgen.findings import Finding
from certgen.survey.checked import Checked
from certgen.survey.checks.needed import SIDES, readings_of
from certgen.survey.fields import STEEPEST_READING_MM_PER_M
from certgen.survey.number_text import short
from certgen.survey.survey import ROUNDS
from certgen.survey.tree import echo

_BOUND = f"{STEEPEST_READING_MM_PER_M:g} mm/m"
_HINT = "Check both numbers and their unit: has a unit slipped?"
CLOSEST_TARGETS_MM = 1.0


class _Pair(NamedTuple):
    """A reading of both ends: its slope, and the extremes of it over repeated readings, mm/m."""

    node: Checked
    slope: float
    least: float
    most: float
    apart_mm: float

    def beyond(self, common: float) -> float:
        """Return how far the extremes lie from a slope that all readings share."""
        return max(common - self.least, self.most - common, key=abs)


def slopes(root: Checked) -> Iterator[Finding]:
    """Yield a fault for every reading of two ends whose slope no roll of a line can have."""
    # return how far apart the targets of each roll are, in mm, where that is known and sensible
    found: dict[str, float] = {}
    for roll in root.list("rolls"):
        stated = roll.get("targets") or root.get("targets")
        operator, drive = (stated.sure("operator"), stated.sure("drive")) if stated else (None, None)
        if operator and drive and drive.base > operator.base:
            found[roll["id"].text] = drive.base - operator.base
    apart = found
    level = ((name, reading) for _, name, reading in readings_of(root, "level"))
    for pair in _pairs(level, apart):
        if abs(pair.beyond(0.0)) > STEEPEST_READING_MM_PER_M:
            yield _fault(pair, 0.0, "the level plane")
    for setup in root.list("setups"):
        yield from _setup(setup, apart)


def _setup(setup: Checked, apart: dict[str, float]) -> Iterator[Finding]:
    read = (
        (name, reading)
        for when in ROUNDS
        for name, series in setup.children(when).items()
        for reading in series.items
    )
    pairs = list(_pairs(read, apart))
    common = _common([pair.slope for pair in pairs])
    for pair in pairs:
        if abs(pair.beyond(common)) > STEEPEST_READING_MM_PER_M:
            yield _fault(pair, common, f"the other readings of setup {setup.called}")


def _common(found: list[float]) -> float:
    """Return the slope that most of the others agree with; of equals, the smallest in size."""
    ordered = sorted(found)
    bound = STEEPEST_READING_MM_PER_M

    def agreeing(slope: float) -> tuple[int, float]:
        return bisect_right(ordered, slope + bound) - bisect_left(ordered, slope - bound), -abs(slope)

    return max(found, key=agreeing, default=0.0)


def _fault(pair: _Pair, common: float, against: str) -> Finding:
    steep = f"{short(abs(pair.beyond(common)))} mm/m from {against}"
    message = f"the ends, {short(pair.apart_mm)} mm apart, give {steep}, over {_BOUND}"
    return replace(pair.node.fault(message, _HINT), got=echo(_written(pair.node)))


def _written(node: Checked) -> str:
    """Return both ends as the survey states them."""
    ends = ((side, " and ".join(end.written for end in node.list(side))) for side in SIDES)
    return ", ".join(f"{side} {written}" for side, written in ends)


def _pairs(read: Iterator[tuple[str, Checked]], apart: dict[str, float]) -> Iterator[_Pair]:
    """Yield the readings of two ends that can be judged."""
    for name, reading in read:
        operator, drive = ([end.base for end in reading.list(side) if end.sound] for side in SIDES)
        if name in apart and operator and drive and not reading.get("exclude"):
            per_m = 1000.0 / apart[name]
            yield _Pair(
                reading,
                (fmean(drive) - fmean(operator)) * per_m,
                (min(drive) - max(operator)) * per_m,
                (max(drive) - min(operator)) * per_m,
                apart[name],
            )


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
