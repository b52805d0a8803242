"""What quantities mean in this file: the units of bare numbers and the slope of one division of the level.

Both are looked up before the file is walked, and quietly: what is faulty there, the walk reports.
"""

from certgen.survey.checked import Checked
from certgen.survey.leaf import Context
from certgen.survey.schema import INSTRUMENT, UNITS
from certgen.survey.shapes import ListOf, Shape
from certgen.survey.tree import Mapping, Node, Scalar
from certgen.survey.walk import TooMany, Walk

# where the level cannot be told or its sensitivity is faulty, its readings are not blamed as well
_EXCUSE_MM_PER_M = 0.01


def context_of(root: Node) -> Context:
    """Return the context that the file sets for its own quantities."""
    units = {name: unit.text for name, unit in _quietly(root, "units", UNITS).keys.items()}
    return Context(units, _division_mm_per_m(root))


def _division_mm_per_m(root: Node) -> float | None:
    named = _value(_value(root, "level"), "instrument")
    level = named.text.strip() if isinstance(named, Scalar) else None
    instruments = _quietly(root, "instruments", ListOf(INSTRUMENT)).items
    if level is not None:
        instruments = tuple(one for one in instruments if one["id"].text == level)
    sensitive = [one for one in instruments if one.get("sensitivity")]
    if not sensitive:
        return None if instruments else _EXCUSE_MM_PER_M
    found = sensitive[0].sure("sensitivity")
    return found.base if found else _EXCUSE_MM_PER_M


def _quietly(root: Node, key: str, shape: Shape) -> Checked:
    try:
        return Walk(Context()).part(_value(root, key), shape)
    except TooMany:
        return Walk(Context()).part(None, shape)


def _value(node: Node | None, key: str) -> Node | None:
    entry = node.entries.get(key) if isinstance(node, Mapping) else None
    return entry.value if entry else None
