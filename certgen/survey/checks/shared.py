"""What readings have in common and the survey must state: no number of readings tells it by itself."""

from collections.abc import Iterator

from certgen.findings import Finding
from certgen.survey.checked import Checked
from certgen.survey.checks.needed import has_slopes, readings_of


def shared(root: Checked) -> Iterator[Finding]:
    """Yield every uncertainty that readings share and that is not stated, and other sources named twice."""
    stated = root["uncertainty"]
    if stated.sound:
        yield from _level_zero(root, stated)
        yield from _level_plane(root, stated)
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
        yield _missing(stated, "level_zero", message, hint)
    elif any(size.base == 0.0 for key in _SIZES if (size := found.sure(key))):
        hint = "State how far it may be off, or read one roll both ways (`reversed:` beside `reading:`)."
        yield found.fault("no level that was never turned end for end has a zero known exactly", hint)


def _level_plane(root: Checked, stated: Checked) -> Iterator[Finding]:
    """Yield a fault where heights were read over a plane of which nobody says how level it is."""
    heights = any(reading.get("operator") for _, _, reading in readings_of(root, "level"))
    if heights and stated.get("level_plane") is None:
        message = "this is required, because heights are read over a level plane:"
        message += " its tilt stands in every roll alike, and no number of readings shows it"
        hint = "Add `level_plane: {expanded: ..., k: 2}` of the calibration certificate, or another form."
        yield _missing(stated, "level_plane", message, hint)


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


def _missing(section: Checked, key: str, message: str, hint: str) -> Finding:
    return Finding("error", section.key_place, f"{section.where}.{key}", message, hint)
