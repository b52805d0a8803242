"""What the verification of a certificate found, and how results, words and drawings are compared.

They are taken apart by the few signs that certgen writes, not by a guess at what others may mean: a number
with a sign in its middle, or a text in hexadecimal digits, is read otherwise by every program.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from itertools import zip_longest
from math import inf, isclose
from typing import Any, Literal

from pypdf import PdfReader
from pypdf.generic import StreamObject

from certgen.moves.steps import ROUNDING_MM

Outcome = Literal["held", "differs", "remark", "not compared"]
Answer = Literal["verified", "does not hold", "results verified"]
MOST = 20
# Another processor or another linear algebra library may round the last digits of a float otherwise; a value
# that differs by less than this is the same result, and none of it can be seen on a page.
RELATIVE, ABSOLUTE = 1e-9, 1e-12

# what results have held since the first certificate; a later program may add to it, none leaves it out
_ALWAYS = frozenset(
    """format survey_sha256 certificate number revision issued reference decision coverage_factor positive
    network rolls adjacent excluded overall id name from to level parallel as_found as_left change verdict
    adjusted slope_mm_per_m target_mm_per_m error_mm_per_m u_mm_per_m U_mm_per_m limit_mm_per_m
    over_bearings_mm conformance_probability""".split()  # noqa: SIM905  # shorter so
)
_Words = tuple[str, ...]
# points: a fiftieth of what a printer shows, and more than the last digit of any coordinate that is written
_UNSEEN = 0.005
_OF_A_CONTENT = {"/Length", "/Filter"}
_THEN = rb"(?=[ \n\[\]]|\Z)"
_TOKEN = re.compile(
    rb"[ \n]*+(?:(?P<number>-?(?:[0-9]{1,7}(?:\.[0-9]{1,9})?|\.[0-9]{1,9}))"
    + _THEN
    + rb"|(?P<word>[A-Za-z]{1,3}\*?)"
    + _THEN
    + rb"|(?P<other>\((?:[^()\\\r]++|\\[0-7]{3}|\\[()\\])*+\)|/[A-Za-z0-9+_.-]{1,80}"
    + _THEN
    + rb"|[\[\]]|<<|>>)|(?P<end>\Z))"
)
# the operands that are coordinates; in a matrix only the shift (ISO 32000-1:2008, 8.3.4, 8.5.2, 9.4.2)
_COORDINATES = {
    **dict.fromkeys((b"cm", b"Tm"), (4, 5)),
    **dict.fromkeys((b"m", b"l", b"Td"), (0, 1)),
    **dict.fromkeys((b"re",), (0, 1, 2, 3)),
    b"c": (0, 1, 2, 3, 4, 5),
}

_Step = tuple[bytes, list[bytes]]


@dataclass(frozen=True, slots=True)
class Check:
    """One thing that was checked: its name, how it came out, that in words, and the places that differ.

    A remark says what differs without harm, or was not asked for. What is not compared keeps a certificate
    from being verified, although nothing speaks against it.
    """

    name: str
    outcome: Outcome
    text: str
    details: tuple[str, ...] = ()


def held(name: str, text: str) -> Check:
    """Return a check that held."""
    return Check(name, "held", text)


def differs(name: str, text: str, details: Iterable[str] = ()) -> Check:
    """Return a check that did not hold."""
    return Check(name, "differs", text, _some(details))


def remark(name: str, text: str, details: Iterable[str] = ()) -> Check:
    """Return what the reader should know beside."""
    return Check(name, "remark", text, _some(details))


def not_compared(name: str, text: str, details: Iterable[str] = ()) -> Check:
    """Return what could not be held against anything, so that nobody can say whether it is right."""
    return Check(name, "not compared", text, _some(details))


def answer(checks: Iterable[Check]) -> Answer:
    """Return what all checks together come to.

    "verified": everything was computed and printed anew, and is the same, or a trusted signer stands for the
    pages. "results verified": nothing speaks against it, but its pages were not printed anew and compared.
    "does not hold": something differs.
    """
    outcomes = {check.outcome for check in checks}
    if "differs" in outcomes:
        return "does not hold"
    return "results verified" if "not compared" in outcomes else "verified"


def _some(details: Iterable[str]) -> tuple[str, ...]:
    """At most as many as anybody will read."""
    every = tuple(details)
    if len(every) <= MOST:
        return every
    return (*every[:MOST], f"and {len(every) - MOST} more")


def exact(one: object, other: object) -> bool:
    """Tell whether two results are the same to the last bit, kinds of values included."""
    return type(one) is type(other) and one == other and repr(one) == repr(other)


def differing(path: str, carried: Any, computed: Any, *, more_allowed: bool) -> Iterator[str]:
    """Yield, in words, each value that differs by more than the tolerance.

    `more_allowed`: computed results may hold keys that the carried ones lack, as a later program's do, but
    none of those that results have always held.
    """
    if isinstance(carried, dict) and isinstance(computed, dict):
        added = {key for key in computed.keys() - carried.keys() if more_allowed and key not in _ALWAYS}
        for key in sorted({*carried, *computed} - added, key=str):
            place = f"{path}.{key}" if path else str(key)
            if key not in computed or key not in carried:
                yield f"{place} stands only in the {'certificate' if key in carried else 'computed results'}"
            else:
                yield from differing(place, carried[key], computed[key], more_allowed=more_allowed)
    elif isinstance(carried, list) and isinstance(computed, list) and len(carried) != len(computed):
        some = _of_something(carried) if more_allowed else carried
        if len(some) == len(computed):
            yield from differing(path, some, computed, more_allowed=more_allowed)
        else:
            yield f"{path} is {_shown(carried)}, computed {_shown(computed)}"
    elif isinstance(carried, list) and isinstance(computed, list):
        for index, pair in enumerate(zip(carried, computed, strict=True)):
            yield from differing(f"{path}[{index}]", *pair, more_allowed=more_allowed)
    elif not _alike(carried, computed):
        yield f"{path} is {_shown(carried)}, computed {_shown(computed)}"


def _of_something(steps: list[Any]) -> list[Any]:
    """Leave out moves of nothing, which earlier programs kept among the steps of a move."""
    return [one for one in steps if not isinstance(one, dict) or _amount(one) > ROUNDING_MM]


def _amount(step: dict[str, Any]) -> float:
    """How far a step moves a bearing; infinite for what is no step."""
    found = [step[key] for key in ("up_mm", "downstream_mm") if isinstance(step.get(key), float)]
    return abs(found[0]) if found else inf


def _alike(one: object, other: object) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return isclose(one, other, rel_tol=RELATIVE, abs_tol=ABSOLUTE)
    return type(one) is type(other) and one == other


def _shown(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:57]}..."


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


class _Foreign(ValueError):
    """Something that certgen writes into no content of a page."""


def draws_the_same(one: StreamObject, other: StreamObject) -> bool:
    """Tell whether two contents draw the same, but for coordinates that differ by less than anybody can see.

    Texts, sizes, colours, widths of lines and turns have to be the same bytes.
    """
    if any(set(some) - _OF_A_CONTENT for some in (one, other)):
        return False  # a font, a profile, a picture
    try:
        first, second = (list(_steps(some.get_data())) for some in (one, other))
    except _Foreign:
        return False
    return len(first) == len(second) and all(map(_same, first, second))


def _steps(content: bytes) -> Iterator[_Step]:
    """Each operator with its operands as they are written."""
    at, operands = 0, list[bytes]()
    while (token := _TOKEN.match(content, at)) is not None and token["end"] is None:
        at = token.end()
        if token["word"] is None:
            operands.append(token["number"] or token["other"])
        else:
            yield token["word"], operands
            operands = []
    if token is None or operands:
        raise _Foreign


def _same(one: _Step, other: _Step) -> bool:
    (word, first), (other_word, second) = one, other
    if word != other_word or len(first) != len(second):
        return False
    near = _COORDINATES.get(word, ())
    return all(
        a == b or (at in near and _is_near(a, b)) for at, (a, b) in enumerate(zip(first, second, strict=True))
    )


def _is_near(one: bytes, other: bytes) -> bool:
    """Whether both are numbers, and less apart than can be seen."""
    try:
        return isclose(float(one), float(other), rel_tol=0.0, abs_tol=_UNSEEN)
    except ValueError:
        return False
