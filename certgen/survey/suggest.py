"""The nearest known word to an unknown one."""

from collections.abc import Iterable
from difflib import SequenceMatcher, get_close_matches
from itertools import islice

_LONGEST = 60  # nobody mistypes a key into more, and comparing long texts is slow
_MOST_KNOWN = 500


def nearest(word: str, known: Iterable[str]) -> str | None:
    """Return the known word most like `word`, None where none is near.

    Capitals count only between words that differ in nothing else; of equals the first known is taken, so
    that the same words in the same order have the same answer.
    """
    folded: dict[str, list[str]] = {}
    for name in islice(known, _MOST_KNOWN):
        folded.setdefault(name.casefold(), []).append(name)
    near = get_close_matches(word.casefold(), folded, 1, 0.6) if len(word) <= _LONGEST else []
    alike = folded[near[0]] if near else []
    return max(alike, key=lambda name: SequenceMatcher(None, name, word).ratio(), default=None)


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """Return `Did you mean X? `, empty where nothing is near."""
    near = nearest(word, known)
    return "" if near is None else f"Did you mean {near}? "
