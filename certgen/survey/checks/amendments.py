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
