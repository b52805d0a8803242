"""Names: declared once, declared wherever they are used, and known under another id from a survey before."""

from collections.abc import Iterable, Iterator

from certgen.findings import Finding
from certgen.survey.checked import Checked, lasers
from certgen.survey.scalar_kinds import did_you_mean
from certgen.survey.survey import ROUNDS
from certgen.survey.tree import echo

_MOST_SUGGESTIONS = 20  # comparing names is slow, and after so many the reader has seen the pattern
_LISTED = 8

Use = tuple[str, Checked]  # a name, and the value that uses it


def names(root: Checked) -> Iterator[Finding]:
    """Yield every name that is declared twice, or used and not declared."""
    for group in ("instruments", "rolls", "monuments", "setups"):
        declared = root.list(group)
        seen: dict[str, Checked] = {}
        for one in declared:
            name = one.sure("id")
            if name is None:
                continue
            if name.text in seen:
                first = seen[name.text].place
                yield name.fault(f"this id stands twice, first at line {first.line}", "Give each its own id.")
            seen.setdefault(name.text, name)
    yield from _undeclared(_roll_uses(root), root, "roll", "rolls")
    yield from _undeclared(_monument_uses(root), root, "monument", "monuments")
    yield from _undeclared(_instrument_uses(root), root, "instrument", "instruments")
    found = lasers(root)
    unnamed = [setup for setup in root.list("setups") if setup.get("instrument") is None]
    if len(found) == 1:
        return
    listed = _some([one.called for one in found])
    for setup in unnamed:
        if found:
            yield setup.fault("it is not said which laser was used", f"Add `instrument:`, one of {listed}.")
        else:
            yield setup.fault("no laser is declared", "Declare the laser in `instruments:`.")


def _undeclared(uses: Iterable[Use], root: Checked, noun: str, group: str) -> Iterator[Finding]:
    declared = dict.fromkeys(one["id"].text for one in root.list(group) if one["id"].sound)
    unknown = ((name, use) for name, use in uses if name not in declared)
    listed = sorted(declared)
    known = f"Declared there: {_some(listed)}." if listed else f"Declare it in `{group}:`."
    for count, (name, use) in enumerate(unknown):
        near = did_you_mean(name, declared) if count < _MOST_SUGGESTIONS else ""
        yield _unknown(name, use, f"no {noun} of this name is declared in `{group}:`", near + known)


def _unknown(name: str, use: Checked, message: str, hint: str) -> Finding:
    """Return the finding at the name itself: a value, or the key that the readings stand under."""
    place = use.place if use.written.strip() == name else use.key_place
    return Finding("error", place, use.where, message, hint, echo(name))


def _some(names: list[str]) -> str:
    return ", ".join([*names[:_LISTED], *(["..."] if len(names) > _LISTED else [])])


def _roll_uses(root: Checked) -> Iterator[Use]:
    yield from _value_uses(root.get("reference", "roll"))
    for owner in (*root.list("setups"), *filter(None, [root.get("level")])):
        for when in ROUNDS:
            yield from owner.children(when).items()
    for adjustment in root.list("adjustments"):
        yield from _value_uses(adjustment.get("roll"))
    yield from root.children("web", "spans").items()


def _monument_uses(root: Checked) -> Iterator[Use]:
    for monument in root.list("reference", "monuments"):
        yield from _value_uses(monument)
    for setup in root.list("setups"):
        yield from setup.children("monuments").items()


def _instrument_uses(root: Checked) -> Iterator[Use]:
    yield from _value_uses(root.get("level", "instrument"))
    for setup in root.list("setups"):
        yield from _value_uses(setup.get("instrument"))


def _value_uses(node: Checked | None) -> Iterator[Use]:
    if node is not None and node.sound:
        yield node.text, node


def renamed(root: Checked) -> Iterator[Finding]:
    """Yield a fault for a roll that was itself, and for two that were the same roll."""
    taken: dict[str, Checked] = {}
    for roll in root.list("rolls"):
        name, was = roll.sure("id"), roll.sure("was")
        if was is None:
            continue
        if name is not None and was.text == name.text:
            yield was.fault("this is its id now", "Write the id it had before, or remove `was:`.")
        first = taken.setdefault(was.text, roll)
        if first is not roll:
            message = f"roll {first.called} says already that it was {was.text}"
            yield was.fault(message, "One roll had one id; leave `was:` out of the one that is new.")
