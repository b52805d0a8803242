"""What moving the rolls needs: travel that bearings can have, and shims that make a pack."""

from collections.abc import Iterator

from certgen.findings import Finding
from certgen.survey.checked import Checked
from certgen.survey.survey import Side

MOST_PIECES = 20
MOST_SIZES = 60
_SIDES: tuple[Side, Side] = ("operator", "drive")
# key of an adjustment, and the keys of `travel` that limit it where it is positive and where it is negative
_WAYS = (("up", "up", "down"), ("downstream", "downstream", "upstream"))


def moving(root: Checked) -> Iterator[Finding]:
    """Yield travel of bearings that stay, moves beyond the travel, and packs that are no packs of shims."""
    for roll in root.list("rolls"):
        yield from _fixed(roll)
    by_name = {roll["id"].text: roll for roll in root.list("rolls")}
    for made in root.list("adjustments"):
        moved = by_name.get(made["roll"].text)
        if moved is not None:
            yield from _beyond(made, moved)
    yield from _shims(root)


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


def _shims(root: Checked) -> Iterator[Finding]:
    most, stock = root.sure("shims", "max"), root.get("shims", "stock")
    if most and most.number > MOST_PIECES:
        hint = "Write how many shims may lie on each other under one bearing; usual is 3 to 5."
        yield most.fault(f"more than {MOST_PIECES} shims are no pack", hint)
    if stock and len(stock.items) > MOST_SIZES:
        yield stock.fault(f"more than {MOST_SIZES} thicknesses", "List each thickness at hand once.")
