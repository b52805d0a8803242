"""What is said to have been done, and what moving takes: possible, complete, and read again afterwards."""

from collections.abc import Iterator

from certgen.findings import Finding
from certgen.survey.checked import Checked
from certgen.survey.checks.needed import readings_of
from certgen.survey.survey import Side

_WARM_C = 60.0
_COLD_C = -30.0
_LARGEST_USUAL_K = 4
_SMALLEST_USUAL_PROBABILITY = 0.5
MOST_PIECES = 20
MOST_SIZES = 60
_SIDES: tuple[Side, Side] = ("operator", "drive")
# key of an adjustment, and the keys of `travel` that limit it where it is positive and where it is negative
_WAYS = (("up", "up", "down"), ("downstream", "downstream", "upstream"))


def work(root: Checked) -> Iterator[Finding]:
    """Yield every adjustment that cannot have been, and conditions that are hard to believe."""
    by_name = {roll["id"].text: roll for roll in root.list("rolls")}
    for adjustment in root.list("adjustments"):
        yield from _possible(adjustment, by_name)
        if adjustment.get("up") is None and adjustment.get("downstream") is None:
            yield adjustment.fault("an adjustment in no direction", "Add `up:`, `downstream:` or both.")
    temperature = root.sure("conditions", "temperature")
    if temperature and not _COLD_C <= temperature.base <= _WARM_C:
        hint = "Check the number and its unit."
        yield temperature.warning(f"a line surveyed at {temperature.base:.0f} °C", hint)
    factor, probability = (
        root.sure("uncertainty", "coverage", "k"),
        root.sure("uncertainty", "coverage", "probability"),
    )
    if factor and not 1 <= factor.number <= _LARGEST_USUAL_K:
        yield factor.warning(
            "an unusual coverage factor", "Usual is 2. A probability is written `probability: 95 %`."
        )
    if probability and probability.base < _SMALLEST_USUAL_PROBABILITY:
        yield probability.warning("an unusually small coverage probability", "Usual is 95 %.")


def _possible(adjustment: Checked, by_name: dict[str, Checked]) -> Iterator[Finding]:
    side, roll = adjustment.sure("side"), by_name.get(adjustment["roll"].text)
    can = roll.sure("adjustable") if roll else None
    if side is None or can is None or can.text in (side.text, "both"):
        return
    name = adjustment["roll"].text
    hint = f"Line {can.place.line} says `adjustable: {can.text}`. Correct the one that is wrong."
    yield side.fault(f"the {side.text}-side bearing of roll {name} cannot be adjusted", hint)


def rounds_by_roll(root: Checked) -> dict[str, set[str]]:
    """Return in which rounds each roll was read."""
    found: dict[str, set[str]] = {}
    for group in ("level", "setups"):
        for when, name, _ in readings_of(root, group):
            found.setdefault(name, set()).add(when)
    return found


def moving(root: Checked) -> Iterator[Finding]:
    """Yield travel of bearings that stay, moves beyond the travel, and packs that are no packs of shims."""
    for roll in root.list("rolls"):
        yield from _fixed(roll)
    by_name = {roll["id"].text: roll for roll in root.list("rolls")}
    for made in root.list("adjustments"):
        moved = by_name.get(made["roll"].text)
        if moved is not None:
            yield from _beyond(made, moved)
    most, stock = root.sure("shims", "max"), root.get("shims", "stock")
    if most and most.number > MOST_PIECES:
        hint = "Write how many shims may lie on each other under one bearing; usual is 3 to 5."
        yield most.fault(f"more than {MOST_PIECES} shims are no pack", hint)
    if stock and len(stock.items) > MOST_SIZES:
        yield stock.fault(f"more than {MOST_SIZES} thicknesses", "List each thickness at hand once.")


def _fixed(roll: Checked) -> Iterator[Finding]:
    travel, can = roll.get("travel"), roll.sure("adjustable")
    if travel is None or can is None:
        return
    hint = f"Line {can.place.line} says `adjustable: {can.text}`. Correct the one that is wrong."
    if can.text == "none":
        yield travel.fault(f"roll {roll.called} cannot be adjusted, so it has no travel", hint)
        return
    for side in _SIDES:
        own = travel.get(side)
        if own is not None and can.text not in (side, "both"):
            yield own.fault(f"the {side}-side bearing of roll {roll.called} cannot be adjusted", hint)


def _beyond(made: Checked, roll: Checked) -> Iterator[Finding]:
    """Yield a warning for every reported move that is longer than the travel stated for it."""
    for key, positive, negative in _WAYS:
        amount = made.sure(key)
        if amount is None:
            continue
        way = positive if amount.base > 0 else negative
        limit = roll.sure("travel", made["side"].text, way) or roll.sure("travel", way)
        if limit and abs(amount.base) > limit.base:
            hint = f"Line {limit.place.line} states {limit.written}. Correct the one that is wrong."
            yield amount.warning(f"the move is longer than the travel {way}", hint)
