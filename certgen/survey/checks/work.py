"""What is said to have been done: possible, complete, and read again afterwards."""

from collections.abc import Iterator

from certgen.findings import Finding
from certgen.survey.checked import Checked
from certgen.survey.checks.needed import readings_of

_WARM_C = 60.0
_COLD_C = -30.0
_LARGEST_USUAL_K = 4
_SMALLEST_USUAL_PROBABILITY = 0.5


def work(root: Checked) -> Iterator[Finding]:
    """Yield every adjustment that cannot have been, and conditions that are hard to believe."""
    by_name = {roll["id"].text: roll for roll in root.list("rolls")}
    for adjustment in root.list("adjustments"):
        yield from _possible(adjustment, by_name)
        if adjustment.get("up") is None and adjustment.get("downstream") is None:
            yield adjustment.fault("an adjustment in no direction", "Add `up:`, `downstream:` or both.")
    yield from _temperature(root)
    yield from _coverage(root)


def _coverage(root: Checked) -> Iterator[Finding]:
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


def _temperature(root: Checked) -> Iterator[Finding]:
    temperature = root.sure("conditions", "temperature")
    if temperature and not _COLD_C <= temperature.base <= _WARM_C:
        hint = "Check the number and its unit."
        yield temperature.warning(f"a line surveyed at {temperature.base:.0f} °C", hint)


def rounds_by_roll(root: Checked) -> dict[str, set[str]]:
    """Return in which rounds each roll was read."""
    found: dict[str, set[str]] = {}
    for group in ("level", "setups"):
        for when, name, _ in readings_of(root, group):
            found.setdefault(name, set()).add(when)
    return found
