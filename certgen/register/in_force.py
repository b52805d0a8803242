"""Which certificates of a register are in force: those that no other one in it replaces.

A certificate is replaced by a later revision of its number, and by one of another number that says so in
`supersedes`. That is a text; it names a certificate where a number of the register stands in it as words of
their own, with the revision behind it or, without one, all of them.
"""

import json
import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, select

from certgen.register.tables import CERTIFICATES, ENTRIES

_WORD = re.compile(r"[^\s,;:/()\"'«»„“”‘’]+")
_REVISION = re.compile(r"[0-9]{1,15}")
_REVISION_ONLY = re.compile(r"(?:[\s,;:/(]+[^\W\d]+\.?)?(?:[\s,;:/(]*[0-9]{1,15})?\)?")
_SUPERSEDES = re.compile(r'"supersedes":("(?:[^"\\]|\\.)*"|null)')
_FEW = 5000  # numbers; for more of them it is quicker to look at all
_MOST_WORDS = 20  # further ones are no part of a number
_PORTION = 500  # as many values as any database takes in one statement


@dataclass(frozen=True, slots=True)
class Issue:
    """A certificate as others name it."""

    number: str
    revision: int

    def __str__(self) -> str:
        return f"{self.number}, revision {self.revision}"


@dataclass(frozen=True, slots=True)
class _Row:
    sequence: int
    issue: Issue
    issued: str

    def before(self, other: "_Row") -> bool:
        """Nothing replaces what came after it: two that name each other do not both fall."""
        mine, its = (
            (one.issued, one.issue.revision, one.sequence)  # in the order of issue, then of adding
            for one in (self, other)
        )
        return mine < its


@dataclass(frozen=True, slots=True)
class _Said:
    """What the text after `supersedes` may name: parts of it, the longest first, and what follows each."""

    by: _Row
    parts: tuple[tuple[str, str], ...]


def replacements(
    connection: Connection, last: int | None = None, of: Collection[str] | None = None
) -> dict[int, Issue]:
    """Return by its sequence what replaces a certificate; those that are in force are not in it.

    Where `last` is given, entries after that one replace nothing. Where `of` is given, certificates of other
    numbers need not be in it.
    """
    said = [one for one in _said(connection) if last is None or one.by.sequence <= last]
    wanted = None if of is None or len(of) > _FEW else frozenset(of)
    revised = {one.by.issue.number for one in said if wanted is None or one.by.issue.number in wanted}
    numbers = revised.union(*({part for part, _ in one.parts} for one in said if one.parts))
    by_number: dict[str, list[_Row]] = {}
    for row in _rows(connection, sorted(numbers)):
        if last is None or row.sequence <= last:
            by_number.setdefault(row.issue.number, []).append(row)
    found = dict(_by_revision(by_number.values()))
    for one in said:
        for old in _superseded(one, by_number):
            found[old.sequence] = one.by.issue
    return found


def _said(connection: Connection) -> Iterator[_Said]:
    """What every revision says that it replaces; a first issue replaces nothing."""
    row = CERTIFICATES.c
    query = select(row.sequence, row.number, row.revision, row.issued, ENTRIES.c.body)
    query = query.join(ENTRIES, ENTRIES.c.sequence == row.sequence).where(row.revision > 0)
    for sequence, number, revision, issued, body in connection.execute(query.order_by(row.sequence)):
        text = " ".join(_supersedes(body).split())
        parts = () if _names_itself(text, number) else _parts(text)
        yield _Said(_Row(sequence, Issue(number, revision), issued), parts)


def _supersedes(body: str) -> str:
    """The text out of an entry in its canonical form, of which the rest need not be read."""
    said = _SUPERSEDES.search(body)
    return "" if said is None else json.loads(said[1]) or ""


def _names_itself(text: str, number: str) -> bool:
    """Whether a revision names no more than an earlier one of its own number, as nearly all do."""
    return text.startswith(number) and _REVISION_ONLY.fullmatch(text, len(number)) is not None


def _parts(text: str) -> tuple[tuple[str, str], ...]:
    words = [word.span() for word in _WORD.finditer(text)][:_MOST_WORDS]
    spans = [(first, last) for at, (first, _) in enumerate(words) for _, last in words[at:]]
    spans.sort(key=lambda span: span[0] - span[1])
    return tuple((text[first:last], text[last:]) for first, last in spans)


def _rows(connection: Connection, numbers: Sequence[str]) -> Iterator[_Row]:
    row = CERTIFICATES.c
    query = select(row.sequence, row.number, row.revision, row.issued)
    for at in range(0, len(numbers), _PORTION):
        some = query.where(row.number.in_(numbers[at : at + _PORTION])).order_by(row.sequence)
        for sequence, number, revision, issued in connection.execute(some):
            yield _Row(sequence, Issue(number, revision), issued)


def _by_revision(numbers: Iterable[list[_Row]]) -> Iterator[tuple[int, Issue]]:
    """What the latest revision of every number replaces."""
    for same in numbers:
        last = max(same, key=lambda row: row.issue.revision)
        yield from ((row.sequence, last.issue) for row in same if row != last)


def _superseded(said: _Said, by_number: dict[str, list[_Row]]) -> list[_Row]:
    """The certificates of another number that a revision says it replaces."""
    number, behind = next((part for part in said.parts if part[0] in by_number), ("", ""))
    revision = _REVISION.search(behind)
    return [
        old
        for old in by_number.get(number, ())
        if number != said.by.issue.number
        and old.before(said.by)
        and (revision is None or old.issue.revision <= int(revision[0]))
    ]
