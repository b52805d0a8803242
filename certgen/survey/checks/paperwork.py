"""What the certificate needs to say: amendments, clauses, days, texts, and nothing left of the scaffold."""

from collections.abc import Iterator
from datetime import date
from functools import cache

from certgen.findings import Finding
from certgen.resources import templates
from certgen.survey.checked import Checked, only_laser
from certgen.survey.checks.work import rounds_by_roll
from certgen.survey.tree import QUOTES_NOTHING, Mapping, Node, Scalar, unquoted
from certgen.survey.yaml_reader import read_tree

_AMENDING = ("supersedes", "reason")
_ABOUT = {
    "supersedes": "Add `supersedes:` with the number and revision that this certificate replaces.",
    "reason": "Add `reason:`, why the certificate was replaced and what changed.",
}
_CONDITIONS = "ISO/IEC 17025:2017, 7.8.4.1 b)"  # conditions that have an influence on the results
_BEFORE_AND_AFTER = "ISO/IEC 17025:2017, 7.8.4.1 d)"  # results before and after any adjustment, if available
FILE = "survey.yaml"
# what no other survey has by chance; roles, halls and readings may well be the same
_KEYS = {
    "certificate": ("number",),
    "contractor": ("name", "address", "contact"),
    "customer": ("name", "address", "contact"),
    "line": ("name",),
}


def amendments(root: Checked) -> Iterator[Finding]:
    """Yield a fault for a revision that does not say what it replaces, and for a first issue that does."""
    head = root["certificate"]
    revision = head.sure("revision")
    if revision is None:
        return
    for key in _AMENDING:
        stated = head.get(key)
        if revision.number > 0 and stated is None:
            where = f"{head.where}.{key}"
            message = f"revision {int(revision.number)} needs it (ISO/IEC 17025:2017, 7.8.8)"
            yield Finding("error", revision.place, where, message, _ABOUT[key])
        elif revision.number == 0 and stated is not None:
            yield stated.fault("a first issue replaces nothing", "Remove the key, or raise `revision:`.")


def number(root: Checked) -> Iterator[Finding]:
    """Yield a fault for a number that is no name of a file, or that a command takes for an option."""
    stated = root["certificate"].sure("number")
    if stated is None:
        return
    text = stated.text.strip()
    if "/" in text or "\\" in text or text.startswith("-") or not text.strip("."):
        hint = "Write letters, digits, dots and dashes, a letter or a digit first: FC-2026-031."
        yield stated.fault("files are named after the number, and this one is a path or an option", hint)


def clauses(root: Checked) -> Iterator[Finding]:
    """Yield a warning for every clause that the survey leaves unmet."""
    if root.get("conditions") is None:
        message = f"no conditions are stated, which {_CONDITIONS} asks for"
        yield _about(root, "conditions", message, "Add `conditions: {temperature: ..., notes: ...}`.")
    elif root.get("conditions", "temperature") is None:
        message = f"no temperature is stated; {_CONDITIONS} asks for the conditions that influence results"
        yield root["conditions"].warning(message, "Add `temperature:`.")
    rounds = rounds_by_roll(root)
    seen = set().union(*rounds.values())
    if rounds and "as_left" not in seen:
        message = f"nothing was read as left; {_BEFORE_AND_AFTER} asks for the results after any adjustment"
        yield _about(root, "as_left", message, "Add `as_left:` readings if anything was adjusted.")


def _about(root: Checked, where: str, message: str, hint: str) -> Finding:
    return Finding("warning", root.key_place, where, message, hint)


def dates(root: Checked) -> Iterator[Finding]:
    """Yield every day that stands out of order."""
    started, finished = root.sure("visit", "started"), root.sure("visit", "finished")
    yield from _not_before(finished, started, "the visit finishes before it starts")
    issued = root.sure("certificate", "issued")
    yield from _not_before(issued, finished, "the certificate is issued before the visit finished")
    for setup in root.list("setups"):
        day = setup.sure("date")
        outside = day and started and finished and not started.day <= day.day <= finished.day
        if day and started and finished and outside:
            hint = f"The visit lasted from {started.day} to {finished.day}."
            yield day.fault("the setup lies outside the visit", hint)
    visit = tuple(day.day for day in (started, finished) if day)
    # the days of its setups for every laser; None stands for a setup that does not say
    alone = only_laser(root)
    found: dict[str, list[date | None]] = {}
    for setup in root.list("setups"):
        named, day = setup.get("instrument"), setup.sure("date")
        laser = named.text if named else alone
        if laser is not None:
            found.setdefault(laser, []).append(day.day if day else None)
    days = found
    for instrument in root.list("instruments"):
        used = days.get(instrument.called, [None])
        yield from _instrument(instrument, visit if None in used else tuple(filter(None, used)))


def _not_before(later: Checked | None, earlier: Checked | None, message: str) -> Iterator[Finding]:
    if later and earlier and later.day < earlier.day:
        hint = f"Write a day on or after {earlier.day}, which stands at line {earlier.place.line}."
        yield later.fault(message, hint)


def _instrument(node: Checked, used: tuple[date, ...]) -> Iterator[Finding]:
    calibrated, due = node.sure("calibrated"), node.sure("due")
    name = node.called
    if calibrated and due and due.day <= calibrated.day:
        yield due.fault(f"{name} is due before it was calibrated", f"It was calibrated on {calibrated.day}.")
        return
    if due and used and due.day < max(used):
        hint = "Have its calibration checked, and state the one that covers that day."
        yield due.fault(f"{name} was past its due date when it was used on {max(used)}", hint)
    if calibrated and used and calibrated.day > min(used):
        hint = "State the calibration that held on that day."
        yield calibrated.fault(f"{name} was calibrated only after it was used on {min(used)}", hint)


def scaffold(root: Checked) -> Iterator[Finding]:
    """Yield a warning for every part of the survey that is still the scaffold's."""
    for group, keys in _KEYS.items():
        for key in keys:
            stated = root.sure(group, key)
            if stated and stated.text == _words().get((group, key)):
                message = "this still stands as in the scaffold of `certgen new`"
                yield stated.warning(
                    message, "Replace it by your own; no certificate should be issued with it."
                )


@cache
def _words() -> dict[tuple[str, str], str]:
    """The texts of the scaffold itself, by group and key."""
    tree = read_tree(FILE, (templates() / FILE).read_text("utf-8"))
    named = ((group, key) for group, keys in _KEYS.items() for key in keys)
    return {(group, key): _text(tree, group, key) for group, key in named}


def _text(node: Node, *path: str) -> str:
    for key in path:
        assert isinstance(node, Mapping)  # noqa: S101  # the scaffold is ours
        node = node.entries[key].value
    assert isinstance(node, Scalar)  # noqa: S101  # the scaffold is ours
    return node.text.strip()


def texts(root: Checked) -> Iterator[Finding]:
    """Yield a warning for every text whose quotation marks would be printed."""
    for node in root.everything():
        if node.sound and isinstance(node.value, str) and unquoted(node.value) is not None:
            hint = f'Write "..." instead, or nothing: {QUOTES_NOTHING}.'
            yield node.warning("the quotation marks are part of the text", hint)
