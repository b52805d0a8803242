"""What a certificate that replaces another must say of it (ISO/IEC 17025:2017, 7.8.8)."""

from collections.abc import Iterator

from certgen.findings import Finding
from certgen.survey.checked import Checked

_KEYS = ("supersedes", "reason")
_ABOUT = {
    "supersedes": "Add `supersedes:` with the number and revision that this certificate replaces.",
    "reason": "Add `reason:`, why the certificate was replaced and what changed.",
}


def amendments(root: Checked) -> Iterator[Finding]:
    """Yield a fault for a revision that does not say what it replaces, and for a first issue that does."""
    head = root["certificate"]
    revision = head.sure("revision")
    if revision is None:
        return
    for key in _KEYS:
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
