"""The letters a survey may use: what the fonts of the certificate have, and nothing that nobody sees.

The fonts belong to the certificate and cost time to load; the ranges here are theirs, and a test holds them
against the fonts. Invisible letters (Unicode category Cf) and control characters (Cc) have no place in a
text that identifies something: two names that look alike would differ.
"""

from bisect import bisect_right
from unicodedata import category

# the first and last letter of each range that all fonts of the certificate have, in hexadecimal
_RANGES = """
20-7E A0-AC AE-17F 192 1A0-1A1 1AF-1B0 1F0 1FA-1FF 218-21B 237 2BC 2C6-2C7 2C9 2D8-2DD 2F3 300-301 303 309
30F 323 384-38A 38C 38E-3A1 3A3-3CE 3D1-3D2 3D6 400-486 488-513 1E00-1E01 1E3E-1E3F 1E80-1E85 1EA0-1EF9
1F4D 2000-200A 2013-2015 2017-201E 2020-2022 2026 2030 2032-2033 2039-203A 203C 2044 2070 2074-2079 207F
20A3-20A4 20A7 20AB-20AC 2105 2113 2116 2120 2122 2126 212E 215B-215E 2202 2206 220F 2211-2212 221A 221E
222B 2248 2260 2264-2265 25CA FB00-FB04
"""
_BOUNDS = tuple(
    int(bound, 16) + after
    for written in _RANGES.split()
    for bound, after in zip((written.split("-") * 2)[:2], (0, 1), strict=True)
)
_LISTED = 5
_HYPHENS = "\u2010\u2011"
_LOST = "\ufffd"
_BREAKS = "\n\r\v\f\x85\u2028\u2029"
_OTHER_SCRIPT = "Write it in Latin, Greek or Cyrillic letters: the certificate is printed with those."


def has_letter(letter: str) -> bool:
    """Return whether the fonts of the certificate have a letter."""
    return bisect_right(_BOUNDS, ord(letter)) % 2 == 1


def fault_of(text: str, lines: bool) -> tuple[str, str] | None:
    """Return what is wrong with the letters of a text, and what would be right; None where nothing is.

    `lines` says that it may have several lines.
    """
    if text.isascii() and text.isprintable():
        return None
    found = list(dict.fromkeys(text))
    return _break(found, lines) or _unseen(found, lines) or _unprintable(found)


def _break(found: list[str], lines: bool) -> tuple[str, str] | None:
    if not lines and any(letter in _BREAKS for letter in found):
        return "this stands on one line", "Write it without a line break."
    return None


def _unseen(found: list[str], lines: bool) -> tuple[str, str] | None:
    for letter in found:
        if letter == "\t":
            return "a tab stands in the text", "Write a space."
        if category(letter) in ("Cc", "Zl", "Zp") and not (lines and letter == "\n"):
            return f"a control character, {_code(letter)}, cannot stand here", "Remove it."
        if category(letter) == "Cf":
            return (
                f"a letter that nobody sees, {_code(letter)}, stands here",
                "Remove it: type the text anew.",
            )
    return None


def _unprintable(found: list[str]) -> tuple[str, str] | None:
    missing = [letter for letter in found if not has_letter(letter) and not letter.isspace()]
    if not missing:
        return None
    more = f" and {len(missing) - _LISTED} more" if len(missing) > _LISTED else ""
    message = f"no font of the certificate has {', '.join(map(_shown, missing[:_LISTED]))}{more}"
    if all(letter in _HYPHENS for letter in missing):
        return message, "Write an ordinary hyphen, -."
    if _LOST in missing:
        return "a letter was lost here (U+FFFD)", "Type it again, and save the file as UTF-8."
    return message, _OTHER_SCRIPT


def _shown(letter: str) -> str:
    seen = letter.isprintable() and not category(letter).startswith("M")
    return f"{letter} ({_code(letter)})" if seen else _code(letter)


def _code(letter: str) -> str:
    return f"U+{ord(letter):04X}"
