"""Keys that other parts of the file make necessary."""

from collections.abc import Iterator

from certgen.findings import Finding
from certgen.survey.checked import Checked
from certgen.survey.survey import ROUNDS

SIDES = ("operator", "drive")
_VANISHING = 1e-9  # mm and mm/m: so small a weight could not be computed with


def needed(root: Checked) -> Iterator[Finding]:
    """Yield every uncertainty without which the readings of this file cannot be weighed."""
    yield from _some_readings(root)
    yield from _uncertainties(root)
    yield from _all_zero(root)
    yield from _no_repeats(root)


def readings_of(root: Checked, group: str) -> Iterator[tuple[str, str, Checked]]:
    """Yield (round, roll, reading) of the level or of all setups."""
    owners = root.list("setups") if group == "setups" else [root[group]] if root.get(group) else []
    for owner in owners:
        for when in ROUNDS:
            for name, series in owner.children(when).items():
                for reading in series.items:
                    yield when, name, reading


def has_slopes(root: Checked) -> bool:
    """Return whether any roll was read with the level itself."""
    return any(reading.get("reading") for _, _, reading in readings_of(root, "level"))


def has_ends(root: Checked) -> bool:
    """Return whether any roll was read at its two ends."""
    heights = any(reading.get("operator") for _, _, reading in readings_of(root, "level"))
    return heights or bool(root.list("setups"))


def _some_readings(root: Checked) -> Iterator[Finding]:
    present = [node for group in ("level", "setups") if (node := root.get(group))]
    faulty = any(not node.sound for node in present)
    if not faulty and not any(any(readings_of(root, group)) for group in ("level", "setups")):
        hint = "Add the readings of rolls to `setups:`, `level:` or both."
        yield root.fault("the survey holds no readings of rolls", hint)


def _uncertainties(root: Checked) -> Iterator[Finding]:
    stated = root["uncertainty"]
    if not stated.sound:
        return
    if has_ends(root):
        for key in ("reading", "repeatability", "seating"):
            yield from _missing(stated, key, "rolls are read at their ends")
    if has_slopes(root):
        yield from _missing(stated, "level", "rolls are read with the level")
    if root.list("reference", "monuments") and root.list("setups"):
        yield from _missing(stated, "squareness", "the reference is a line of monuments")
    elif any(turned.value for setup in root.list("setups") if (turned := setup.get("reversed"))):
        yield from _missing(stated, "squareness", "a setup is reversed")
    elif len({laser.text for setup in root.list("setups") if (laser := setup.get("instrument"))}) > 1:
        yield from _missing(stated, "squareness", "setups were taken with different lasers")


def _missing(section: Checked, key: str, reason: str) -> Iterator[Finding]:
    if section.get(key) is None:
        where = f"{section.where}.{key}"
        hint = f"Add `{key}: {{standard: ...}}` or another form."
        yield Finding("error", section.key_place, where, f"this is required, because {reason}", hint)


def _all_zero(root: Checked) -> Iterator[Finding]:
    stated = root["uncertainty"]
    if has_ends(root) and _nothing(stated, "reading", "repeatability", "seating"):
        yield stated.fault(
            "reading, repeatability and seating are all zero", "No reading is exact: state at least one."
        )
    elif _monuments_read(root) and _nothing(stated, "reading", "repeatability"):
        hint = "No reading is exact: state at least one."
        yield stated.fault("reading and repeatability are both zero, and monuments have no other", hint)
    if has_slopes(root) and _nothing(stated, "level"):
        yield stated["level"].fault("the uncertainty of the level is zero", "No reading is exact: state one.")


def _no_repeats(root: Checked) -> Iterator[Finding]:
    source = root["uncertainty"].sure("repeatability", "from")
    if source and not any(_repeated(root)):
        hint = "Write an end as a list, `drive: [1.1, 1.3, 1.2]`, or state the repeatability itself."
        yield source.fault("no reading of this survey was repeated", hint)


def repeats_set_aside(root: Checked) -> Iterator[Finding]:
    """Yield a fault where the scatter is to be taken from readings none of which takes part."""
    source, repeated = root["uncertainty"].sure("repeatability", "from"), list(_repeated(root))
    if source and repeated and all(reading.get("exclude") for reading in repeated):
        hint = "Repeat a reading that takes part, or state the repeatability itself."
        yield source.fault("every repeated reading of this survey is set aside", hint)


def _repeated(root: Checked) -> Iterator[Checked]:
    """Yield the readings of which an end was read more than once."""
    for group in ("setups", "level"):
        for _, _, reading in readings_of(root, group):
            if any(len(reading.list(side)) > 1 for side in SIDES):
                yield reading


def _monuments_read(root: Checked) -> bool:
    return any(setup.children("monuments") for setup in root.list("setups"))


def _nothing(stated: Checked, *keys: str) -> bool:
    """Return whether all of these are stated, sound and as good as zero."""
    return all((size := _size(stated.get(key))) is not None and size < _VANISHING for key in keys)


def _size(node: Checked | None) -> float | None:
    for key in ("standard", "half_width", "expanded"):
        found = node.sure(key) if node else None
        if found:
            return found.base
    return None
