"""Rolls that a survey before knew under another id."""

from collections.abc import Iterator

from certgen.findings import Finding
from certgen.survey.checked import Checked


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
