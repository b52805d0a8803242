"""What the text after `supersedes` names: certificates of a register, each as words of their own in it."""

import re

from certgen.register.entry import Certificate

_WORD = re.compile(r"[^\s,;:/()\"'«»„“”‘’]+")
_REVISION_ONLY = re.compile(r"(?:[\s,;:/(]+[^\W\d]+\.?)?(?:[\s,;:/(]*[0-9]{1,15})?\)?")
_MOST_WORDS = 20  # further ones are no part of a number


def says_of_another(one: Certificate) -> bool:
    """Return whether a certificate may say that it replaces one of another number; a first issue never does.

    Nearly all revisions name no more than an earlier one of their own number.
    """
    if not one.revision or not one.supersedes:
        return False
    text = " ".join(one.supersedes.split())
    return not (text.startswith(one.number) and _REVISION_ONLY.fullmatch(text, len(one.number)))


def parts(said: str) -> tuple[str, ...]:
    """Return what in the text may be a number: runs of its words, the longest first."""
    text = " ".join(said.split())
    words = [word.span() for word in _WORD.finditer(text)][:_MOST_WORDS]
    spans = [(first, last) for at, (first, _) in enumerate(words) for _, last in words[at:]]
    spans.sort(key=lambda span: span[0] - span[1])
    return tuple(text[first:last] for first, last in spans)
