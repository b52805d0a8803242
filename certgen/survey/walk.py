"""The located tree against the format: every value read as its kind, every fault of form gathered.

Both are looked up before the file is walked, and quietly: what is faulty there, the walk reports.
"""

from collections.abc import Mapping as Dictionary
from dataclasses import dataclass, field

from certgen.findings import Finding, Place
from certgen.survey.checked import Checked
from certgen.survey.number_text import Wrong
from certgen.survey.scalar_kinds import Name, nearest
from certgen.survey.schema import INSTRUMENT, UNITS
from certgen.survey.sections import Context, Forms, Key, Leaf, LeafOr, ListOf, Named, Section, Shape
from certgen.survey.tree import QUOTES_NOTHING, Entry, Mapping, Node, Scalar, Sequence, describe, echo, opened

MOST_FINDINGS = 1000
_NOTHING = ("", "~", "null")
_KEEP_ONE = "Keep one of the two."
_LIST_BOTH = "Keep one of the two, or write both readings as a list: `[..., ...]`."
# where the level cannot be told or its sensitivity is faulty, its readings are not blamed as well
_EXCUSE_MM_PER_M = 0.01


class TooMany(Exception):
    """The file has more faults than anybody will read."""


@dataclass(frozen=True, slots=True)
class _Spot:
    """Where in the file: the path, and the place of the key (of the value, where it has no key)."""

    where: str
    key_place: Place

    def below(self, name: str, place: Place) -> "_Spot":
        return _Spot(f"{self.where}.{name}" if self.where else name, place)

    def item(self, index: int, place: Place) -> "_Spot":
        return _Spot(f"{self.where}[{index}]", place)


@dataclass
class Walk:
    """One pass over a tree. `broken` says that names or groups are faulty, so that no survey can be built."""

    context: Context
    findings: list[Finding] = field(default_factory=list)
    broken: bool = False
    stand_ins: int = 0

    def root(self, node: Node, shape: Section) -> Checked:
        """Return the checked tree of a whole file."""
        return self.visit(node, shape, _Spot("", node.place))

    def part(self, node: Node | None, shape: Shape) -> Checked:
        """Return one part of a file by itself, read as `shape`; its paths begin at the part."""
        return self.visit(node, shape, _Spot("", node.place if node else Place(1, 1)))

    def visit(self, node: Node | None, shape: Shape, spot: _Spot) -> Checked:
        """Return what stands at a spot, read as `shape`; a stand-in where `node` is None."""
        match shape:
            case Section():
                return self._section(node, shape, spot)
            case Forms():
                return self._forms(node, shape, spot)
            case ListOf():
                return self._list(node, shape, spot)
            case Named():
                wanted = f"Write the names of {shape.names}, each with its value."
                group = self._mapping(node, spot, wanted, _LIST_BOTH)
                made = Checked(spot.where, group.place, spot.key_place, sound=isinstance(node, Mapping))
                for name, entry in group.entries.items():
                    below = spot.below(echo(name), entry.place)
                    made.keys[name] = self.visit(entry.value, shape.value, below)
                return made
            case LeafOr():
                inner = shape.section if isinstance(node, Mapping) else shape.leaf
                return self.visit(node, inner, spot)
            case _:
                return self._leaf(node, shape, spot)

    def _fault(self, spot: _Spot, place: Place, message: str, hint: str, got: str | None = None) -> None:
        if len(self.findings) >= MOST_FINDINGS:
            raise TooMany
        self.findings.append(Finding("error", place, spot.where or "the file", message, hint, got))

    def _leaf(self, node: Node | None, leaf: Leaf, spot: _Spot) -> Checked:
        if _is_nothing(node):
            self._fault(spot, spot.key_place, "no value is written here", "Write a value, or remove the key.")
        elif isinstance(node, Scalar):
            try:
                value = leaf.read(node.text, self.context)
            except Wrong as wrong:
                self._fault(spot, node.place, wrong.message, wrong.hint, describe(node))
            else:
                if node.comma:
                    self._fault(spot, node.place, "the text ends at its comma", _quote(node), describe(node))
                return Checked(spot.where, node.place, spot.key_place, value, not node.comma, node.text)
        elif node is not None:
            self._fault(spot, node.place, "one single value belongs here", "Write one value.", describe(node))
        if isinstance(leaf, Name):
            self.broken = True
        self.stand_ins += 1
        return Checked(
            spot.where, _place(node, spot), spot.key_place, leaf.stand_in(self.stand_ins), sound=False
        )

    def _mapping(self, node: Node | None, spot: _Spot, wanted: str, again: str = _KEEP_ONE) -> Mapping:
        """Return the group of keys at a spot, an empty one where something else stands there."""
        if isinstance(node, Mapping):
            for key, place in node.repeated:
                first = node.entries[key].place
                message = f"the key stands twice, first at line {first.line}, column {first.column}"
                self._fault(spot.below(echo(key), place), place, message, again, echo(key))
            return node
        if node is not None:
            self.broken = True
            self._fault(spot, _place(node, spot), "a group of keys belongs here", wanted, describe(node))
        return Mapping(spot.key_place, {}, 1)

    def _section(self, node: Node | None, section: Section, spot: _Spot) -> Checked:
        known = section.named()
        names = [key.name for key in section.keys if key.required] or list(known)
        wanted = f"Write `{{{', '.join(f'{name}: ...' for name in names)}}}`."
        group = self._mapping(node, spot, wanted)
        entries = self._known(group, known, spot)
        made = Checked(spot.where, group.place, spot.key_place, sound=isinstance(node, Mapping))
        for name, key in known.items():
            entry = entries.get(name)
            if entry is not None:
                made.keys[name] = self.visit(entry.value, key.shape, spot.below(name, entry.place))
            elif key.required:
                made.keys[name] = self._missing(key, spot, reported=not isinstance(node, Mapping))
        return made

    def _missing(self, key: Key, spot: _Spot, reported: bool) -> Checked:
        below = spot.below(key.name, spot.key_place)
        if not reported:
            self._fault(
                below, spot.key_place, "a required key is missing", f"Add `{key.name}:`, {key.about}."
            )
        if isinstance(key.shape, ListOf | Named | Forms):
            self.broken = True
        return self.visit(None, key.shape, below)

    def _known(self, group: Mapping, known: Dictionary[str, Key], spot: _Spot) -> dict[str, Entry]:
        """Return the entries by known key; an unknown one near an absent one is read as that."""
        entries = {name: entry for name, entry in group.entries.items() if name in known}
        for name, entry in group.entries.items():
            if name not in known:
                near = nearest(name, (key for key in known if key not in entries)) or nearest(name, known)
                self._unknown(name, entry, near, tuple(known), spot)
                if near is not None and near not in entries:
                    entries[near] = entry
        return entries

    def _unknown(
        self, name: str, entry: Entry, near: str | None, known: tuple[str, ...], spot: _Spot
    ) -> None:
        hint = f"Known here: {', '.join(known)}."
        if near is not None:
            hint = f"Did you mean {near}? {hint}"
        if name == "<<":
            hint = "Keys are not merged: write them out."
        self._fault(spot.below(echo(name), entry.place), entry.place, "unknown key", hint, echo(name))

    def _forms(self, node: Node | None, forms: Forms, spot: _Spot) -> Checked:
        if not isinstance(node, Mapping):
            return self._section(node, forms.variants[0], spot)
        chosen = max(forms.variants, key=lambda section: _fit(node, section))
        if _fit(node, chosen) == 0 and not any(nearest(name, chosen.named()) for name in node.entries):
            ways = " or ".join("{" + ", ".join(k.name for k in form.keys) + "}" for form in forms.variants)
            self.broken = True
            self._fault(spot, spot.key_place, "none of the forms of this group", f"Write one of {ways}.")
            return self._section(None, chosen, spot)
        return self._section(self._without_others(node, forms, chosen, spot), chosen, spot)

    def _without_others(self, node: Mapping, forms: Forms, chosen: Section, spot: _Spot) -> Mapping:
        """Return the group without the keys that belong to another form, each of which is reported."""
        others = {key.name for form in forms.variants for key in form.keys} - set(chosen.named())
        for name in (name for name in node.entries if name in others):
            place = node.entries[name].place
            beside = ", ".join(key for key in chosen.named() if key in node.entries)
            hint = f"Keep either `{name}` or `{beside}`."
            self._fault(spot.below(name, place), place, f"this cannot stand beside {beside}", hint, name)
        kept = {name: entry for name, entry in node.entries.items() if name not in others}
        return Mapping(node.place, kept, node.size, node.repeated)

    def _list(self, node: Node | None, shape: ListOf, spot: _Spot) -> Checked:
        if shape.single and node is not None and not isinstance(node, Sequence):
            item = self.visit(node, shape.item, spot)
            return Checked(spot.where, node.place, spot.key_place, items=(item,))
        if not isinstance(node, Sequence):
            if node is not None:
                self.broken = True
                hint = "Write `[...]`, or lines that begin with `- `."
                self._fault(spot, _place(node, spot), "a list belongs here", hint, describe(node))
            return Checked(spot.where, _place(node, spot), spot.key_place, sound=False)
        if len(node.items) < shape.at_least:
            self._fault(spot, node.place, "the list is empty", "Write at least one entry, or remove the key.")
        items = tuple(
            self.visit(item, shape.item, spot.item(index, item.place))
            for index, item in enumerate(node.items)
        )
        return Checked(spot.where, node.place, spot.key_place, items=items)


def _quote(node: Scalar) -> str:
    hint = 'Write "..." around text that holds a comma'
    return f"{hint}; {QUOTES_NOTHING}." if opened(node.text) else f"{hint}."


def _is_nothing(node: Node | None) -> bool:
    return isinstance(node, Scalar) and node.plain and node.text in _NOTHING


def _place(node: Node | None, spot: _Spot) -> Place:
    """Return where a value stands; the parser finds an empty one only at the next thing that is not empty."""
    return spot.key_place if node is None or _is_nothing(node) else node.place


def _fit(node: Mapping, section: Section) -> int:
    return len(section.named().keys() & node.entries.keys())


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
