"""What ISO/IEC 17025:2017 asks of a certificate and a survey may leave out, each with its clause."""

from collections.abc import Iterator

from certgen.findings import Finding
from certgen.survey.checked import Checked
from certgen.survey.checks.work import rounds_by_roll

_CONDITIONS = "ISO/IEC 17025:2017, 7.8.4.1 b)"  # conditions that have an influence on the results
_BEFORE_AND_AFTER = "ISO/IEC 17025:2017, 7.8.4.1 d)"  # results before and after any adjustment, if available


def clauses(root: Checked) -> Iterator[Finding]:
    """Yield a warning for every clause that the survey leaves unmet."""
    yield from _conditions(root)
    yield from _before_and_after(root)


def _conditions(root: Checked) -> Iterator[Finding]:
    if root.get("conditions") is None:
        message = f"no conditions are stated, which {_CONDITIONS} asks for"
        yield _about(root, "conditions", message, "Add `conditions: {temperature: ..., notes: ...}`.")
    elif root.get("conditions", "temperature") is None:
        message = f"no temperature is stated; {_CONDITIONS} asks for the conditions that influence results"
        yield root["conditions"].warning(message, "Add `temperature:`.")


def _before_and_after(root: Checked) -> Iterator[Finding]:
    rounds = rounds_by_roll(root)
    seen = set().union(*rounds.values())
    if rounds and "as_left" not in seen:
        message = f"nothing was read as left; {_BEFORE_AND_AFTER} asks for the results after any adjustment"
        yield _about(root, "as_left", message, "Add `as_left:` readings if anything was adjusted.")


def _about(root: Checked, where: str, message: str, hint: str) -> Finding:
    return Finding("warning", root.key_place, where, message, hint)
