"""Signs that a word processor puts in place of those on the keyboard, and that mean nothing to YAML."""

import re

_DASH = re.compile("([\u2010-\u2015\u207b\ufe58\ufe63\uff0d])\\s*([\\d.].*)")
_OPENING = (
    "\u201c",
    "\u201d",
    "\u201e",
    "\u201f",
    "\u00ab",
    "\u00bb",
    "\u2018",
    "\u201a",
    "\u2039",
    "\u203a",
)
_CLOSING = ("\u201c", "\u201d", "\u00ab", "\u00bb", "\u2018", "\u2019", "\u2039", "\u203a")

QUOTES_NOTHING = "marks such as \u201c and \u201d quote nothing"


def with_minus(text: str) -> str | None:
    """Return a number that begins with a dash with a minus sign instead, None where it does not."""
    found = _DASH.fullmatch(text)
    return f"-{found.group(2)}" if found else None


def opened(text: str) -> bool:
    """Return whether a text begins with a quotation mark of print."""
    return text.startswith(_OPENING)


def still_open(text: str) -> bool:
    """Return whether it begins with such a mark and none closes it."""
    return opened(text) and not any(mark in text[1:] for mark in _CLOSING)


def unquoted(text: str) -> str | None:
    """Return the text within quotation marks of print, None where it is not within such."""
    return text[1:-1].strip() if len(text) > 1 and opened(text) and text.endswith(_CLOSING) else None
