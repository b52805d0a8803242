"""The reference and the setups that must carry it."""

from collections.abc import Iterator

from certgen.findings import Finding
from certgen.survey.checked import Checked
from certgen.survey.checks.needed import readings_of
from certgen.survey.survey import ROUNDS


def reference(root: Checked) -> Iterator[Finding]:
    """Yield the setups that measure nothing and the monuments that nothing measures."""
    yield from _empty_setups(root)
    yield from _monuments_unread(root)


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


def _empty_setups(root: Checked) -> Iterator[Finding]:
    for setup in root.list("setups"):
        if not any(_holds_something(setup.get(when)) for when in ROUNDS):
            yield setup.warning(f"setup {setup.called} reads no roll", "Add its readings, or remove it.")
    for group in ("level", "setups"):
        node = root.get(group)
        if node is not None and node.sound and not any(readings_of(root, group)):
            yield node.warning(f"`{group}:` holds no readings of rolls", "Add them, or remove the key.")


def _holds_something(when: Checked | None) -> bool:
    """Return whether a round holds readings, or something faulty that was meant for them."""
    return when is not None and bool(when.keys or not when.sound)


def _monuments_unread(root: Checked) -> Iterator[Finding]:
    read = {name for setup in root.list("setups") for name in setup.children("monuments")}
    for monument in root.list("monuments"):
        name = monument["id"].text
        if name not in read and monument["id"].sound and root.list("setups"):
            yield monument["id"].warning(
                f"monument {name} is read in no setup", "Add its readings, or remove it."
            )
