"""The text of two certificates compared word by word."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from itertools import zip_longest

from pypdf import PdfReader

_Words = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Difference:
    """Words on a page (from 1) that differ: as printed, and as they should be."""

    page: int
    printed: tuple[str, ...]
    expected: tuple[str, ...]

    def line(self) -> str:
        """Return the difference in words."""
        if not self.expected:
            return f"page {self.page}: “{' '.join(self.printed)}” should not be there"
        if not self.printed:
            return f"page {self.page}: “{' '.join(self.expected)}” is missing"
        return f"page {self.page}: “{' '.join(self.printed)}” should be “{' '.join(self.expected)}”"

    def of_numbers(self) -> bool:
        """Tell whether one number stands where another should."""
        pairs = zip(self.printed, self.expected, strict=False)
        return len(self.printed) == len(self.expected) and any(
            _is_number(one) and _is_number(other) and one != other for one, other in pairs
        )


def pages(reader: PdfReader) -> list[list[str]]:
    """Return the words of every page."""
    return [page.extract_text().split() for page in reader.pages]


def by_page(printed: Sequence[list[str]], expected: Sequence[list[str]]) -> tuple[Difference, ...]:
    """Return what differs, each page held against the same page."""
    nothing: list[str] = []
    pairs = zip_longest(printed, expected, fillvalue=nothing)
    return tuple(
        Difference(page, *words) for page, pair in enumerate(pairs, 1) for _, *words in _differences(*pair)
    )


def running(printed: Sequence[list[str]], expected: Sequence[list[str]]) -> tuple[Difference, ...]:
    """Return what differs where pages may break elsewhere: all pages as one text, page numbers left out."""
    one, other = (list(_without_numbers(some)) for some in (printed, expected))
    page_of = [page for page, words in enumerate(one, 1) for _ in words] or [1]
    differing = _differences(*([word for words in some for word in words] for some in (one, other)))
    return tuple(Difference(page_of[min(at, len(page_of) - 1)], *words) for at, *words in differing)


def _without_numbers(some: Sequence[list[str]]) -> Iterator[list[str]]:
    """Leave out the number of the page and of all pages, which move with every change of the layout."""
    for page, words in enumerate(some, 1):
        foot = [str(page), str(len(some))]
        yield [word for at, word in enumerate(words) if not _is_foot(words, at, foot)]


def _is_foot(words: list[str], at: int, foot: list[str]) -> bool:
    """`page 3 of 9`, whatever the words between the two numbers."""
    return (words[at] == foot[0] and words[at + 2 : at + 3] == foot[1:]) or (
        words[at] == foot[1] and at >= 2 and words[at - 2] == foot[0]
    )


def _differences(printed: list[str], expected: list[str]) -> Iterator[tuple[int, _Words, _Words]]:
    """Where, what is printed there, and what should be."""
    if printed != expected:
        matcher = SequenceMatcher(None, printed, expected, autojunk=False)
        for kind, i, j, k, m in matcher.get_opcodes():
            if kind != "equal":
                yield i, tuple(printed[i:j]), tuple(expected[k:m])


def _is_number(word: str) -> bool:
    return any(letter.isdigit() for letter in word)
