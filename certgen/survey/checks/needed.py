"""Keys that other parts of the file make necessary: of the reference, and of what readings have in common."""

from collections.abc import Iterator

from certgen.findings import Finding
from certgen.survey.checked import Checked
from certgen.survey.survey import ROUNDS

SIDES = ("operator", "drive")
_VANISHING = 1e-9  # mm and mm/m: so small a weight could not be computed with


def needed(root: Checked) -> Iterator[Finding]:
    """Yield every uncertainty without which the readings of this file cannot be weighed."""
    present = [node for group in ("level", "setups") if (node := root.get(group))]
    faulty = any(not node.sound for node in present)
    if not faulty and not any(any(readings_of(root, group)) for group in ("level", "setups")):
        hint = "Add the readings of rolls to `setups:`, `level:` or both."
        yield root.fault("the survey holds no readings of rolls", hint)
    yield from _uncertainties(root)
    stated = root["uncertainty"]
    if has_ends(root) and _nothing(stated, "reading", "repeatability", "seating"):
        yield stated.fault(
            "reading, repeatability and seating are all zero", "No reading is exact: state at least one."
        )
    elif any(setup.children("monuments") for setup in root.list("setups")) and _nothing(
        stated, "reading", "repeatability"
    ):
        hint = "No reading is exact: state at least one."
        yield stated.fault("reading and repeatability are both zero, and monuments have no other", hint)
    if has_slopes(root) and _nothing(stated, "level"):
        yield stated["level"].fault("the uncertainty of the level is zero", "No reading is exact: state one.")
    source = root["uncertainty"].sure("repeatability", "from")
    if source and not any(_repeated(root)):
        hint = "Write an end as a list, `drive: [1.1, 1.3, 1.2]`, or state the repeatability itself."
        yield source.fault("no reading of this survey was repeated", hint)


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


def _nothing(stated: Checked, *keys: str) -> bool:
    """Return whether all of these are stated, sound and as good as zero."""
    return all((size := _size(stated.get(key))) is not None and size < _VANISHING for key in keys)


def _size(node: Checked | None) -> float | None:
    for key in ("standard", "half_width", "expanded"):
        found = node.sure(key) if node else None
        if found:
            return found.base
    return None


def reference(root: Checked) -> Iterator[Finding]:
    """Yield the setups that measure nothing and the monuments that nothing measures."""
    for setup in root.list("setups"):
        if not any(_holds_something(setup.get(when)) for when in ROUNDS):
            yield setup.warning(f"setup {setup.called} reads no roll", "Add its readings, or remove it.")
    for group in ("level", "setups"):
        node = root.get(group)
        if node is not None and node.sound and not any(readings_of(root, group)):
            yield node.warning(f"`{group}:` holds no readings of rolls", "Add them, or remove the key.")
    read = {name for setup in root.list("setups") for name in setup.children("monuments")}
    for monument in root.list("monuments"):
        name = monument["id"].text
        if name not in read and monument["id"].sound and root.list("setups"):
            yield monument["id"].warning(
                f"monument {name} is read in no setup", "Add its readings, or remove it."
            )


def line(root: Checked) -> Iterator[Finding]:
    """Yield what keeps the monuments of the reference from being a line."""
    node = root.get("reference", "monuments")
    named = [one.text for one in root.list("reference", "monuments") if one.sound]
    if node is None or not named:
        return
    distinct = list(dict.fromkeys(named))
    if len(distinct) < len(named):
        yield node.fault("a monument is named twice", "Name each once.")
    if len(distinct) < 2:
        yield node.fault("one monument makes no line", "Name two or more monuments at different stations.")
        return
    stations = [one.sure("station") for one in root.list("monuments") if one["id"].text in set(named)]
    known = [station.base for station in stations if station]
    if len(known) == len(distinct) and len(set(known)) < 2:
        yield node.fault("these monuments stand at one station", "Name monuments at different stations.")


def _holds_something(when: Checked | None) -> bool:
    """Return whether a round holds readings, or something faulty that was meant for them."""
    return when is not None and bool(when.keys or not when.sound)


def shared(root: Checked) -> Iterator[Finding]:
    """Yield every uncertainty that readings share and that is not stated, and other sources named twice."""
    stated = root["uncertainty"]
    if stated.sound:
        yield from _level_zero(root, stated)
        # yield a fault where heights were read over a plane of which nobody says how level it is
        heights = any(reading.get("operator") for _, _, reading in readings_of(root, "level"))
        if heights and stated.get("level_plane") is None:
            message = "this is required, because heights are read over a level plane:"
            message += " its tilt stands in every roll alike, and no number of readings shows it"
            hint = "Add `level_plane: {expanded: ..., k: 2}` of the calibration certificate, or another form."
            yield _not_stated(stated, "level_plane", message, hint)
        yield from _named_twice(stated)


def _level_zero(root: Checked, stated: Checked) -> Iterator[Finding]:
    """Yield a fault where no reading that takes part was reversed, and the zero of it is not stated."""
    if not has_slopes(root) or _reversed(root):
        return
    found = stated.get("level_zero")
    if found is None:
        message = "this is required, because no roll was read with the level turned end for end:"
        message += " its zero error stands in every roll, and no number of readings shows it"
        hint = (
            "Read one roll both ways (`reversed:` beside `reading:`), or add `level_zero: {standard: ...}`."
        )
        yield _not_stated(stated, "level_zero", message, hint)
    elif any(size.base == 0.0 for key in _SIZES if (size := found.sure(key))):
        hint = "State how far it may be off, or read one roll both ways (`reversed:` beside `reading:`)."
        yield found.fault("no level that was never turned end for end has a zero known exactly", hint)


def _named_twice(stated: Checked) -> Iterator[Finding]:
    """Yield a fault for every other source whose name an earlier one of its aspect has."""
    seen: dict[tuple[str, str], int] = {}
    for one in stated.list("other"):
        name, applies = one.sure("name"), one.sure("applies")
        if name and applies:
            first = seen.setdefault((applies.text, name.text), name.place.line)
            if first != name.place.line:
                hint = "Give each source a name of its own, or put both into one figure."
                yield name.fault(f"a source of that name stands at line {first} already", hint)


def _reversed(root: Checked) -> bool:
    every = (reading for _, _, reading in readings_of(root, "level"))
    return any(reading.get("reversed") and not reading.get("exclude") for reading in every)


_SIZES = ("standard", "half_width", "expanded")


def _not_stated(section: Checked, key: str, message: str, hint: str) -> Finding:
    return Finding("error", section.key_place, f"{section.where}.{key}", message, hint)
