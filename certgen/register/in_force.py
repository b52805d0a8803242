"""Which certificates of a register are replaced by another one in it, and which is the latest of its line.

A certificate is replaced by a later revision of its number, and by one of another number that says so in
`supersedes`. That is a text; it names a certificate where a number of the register stands in it as words of
their own, and then all of its revisions that were issued before: who names revision 0 of a certificate that
has two replaces both. One that was withdrawn replaces nothing.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, select

from certgen.register.bodies import WITHDRAWN
from certgen.register.supersedes import parts
from certgen.register.tables import CERTIFICATES, MARKS, REPLACING

_FEW = 5000  # numbers; for more of them it is quicker to look at all
_PORTION = 500  # as many values as any database takes in one statement
_SOME = 4  # certificates of a line, among which the latest one that counts nearly always is

Line = tuple[str, str]


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
    """What the text after `supersedes` may name: parts of it, the longest first."""

    by: _Row
    parts: tuple[str, ...]


def withdrawn(connection: Connection, last: int | None = None) -> frozenset[int]:
    """Return the certificates that were withdrawn, by their place, in entries up to `last`."""
    query = select(MARKS.c.certificate).where(MARKS.c.kind == WITHDRAWN)
    query = query if last is None else query.where(MARKS.c.sequence <= last)
    return frozenset(connection.execute(query).scalars())


def replacements(
    connection: Connection, last: int | None = None, of: Collection[str] | None = None
) -> dict[int, Issue]:
    """Return by its sequence what replaces a certificate; those that nothing replaces are not in it.

    Where `last` is given, entries after that one replace nothing. Where `of` is given, certificates of other
    numbers need not be in it.
    """
    void = withdrawn(connection, last)
    said = [one for one in _said(connection, last) if one.by.sequence not in void]
    revised = set(of) if of is not None and len(of) <= _FEW else _revised(connection)
    numbers = revised.union(*(one.parts for one in said))
    by_number: dict[str, list[_Row]] = {}
    for row in _rows(connection, sorted(numbers)):
        if last is None or row.sequence <= last:
            by_number.setdefault(row.issue.number, []).append(row)
    found = dict(_by_revision(by_number.values(), void))
    for one in said:
        for old in _superseded(one, by_number):
            found[old.sequence] = one.by.issue
    return found


def _said(connection: Connection, last: int | None) -> Iterator[_Said]:
    """What certificates say that they replace of another number."""
    row = CERTIFICATES.c
    query = select(row.sequence, row.number, row.revision, row.issued, REPLACING.c.said)
    query = query.join(REPLACING, REPLACING.c.sequence == row.sequence).order_by(row.sequence)
    query = query if last is None else query.where(row.sequence <= last)
    for sequence, number, revision, issued, text in connection.execute(query):
        yield _Said(_Row(sequence, Issue(number, revision), issued), parts(text))


def _revised(connection: Connection) -> set[str]:
    row = CERTIFICATES.c
    return set(connection.execute(select(row.number).where(row.revision > 0)).scalars())


def _rows(connection: Connection, numbers: Sequence[str]) -> Iterator[_Row]:
    row = CERTIFICATES.c
    query = select(row.sequence, row.number, row.revision, row.issued)
    for at in range(0, len(numbers), _PORTION):
        some = query.where(row.number.in_(numbers[at : at + _PORTION])).order_by(row.sequence)
        for sequence, number, revision, issued in connection.execute(some):
            yield _Row(sequence, Issue(number, revision), issued)


def _by_revision(numbers: Iterable[list[_Row]], void: Collection[int]) -> Iterator[tuple[int, Issue]]:
    """What the latest revision of every number replaces."""
    for same in numbers:
        counting = [row for row in same if row.sequence not in void]
        if len(same) < 2 or not counting:
            continue
        last = max(counting, key=lambda row: row.issue.revision)
        earlier = (row for row in same if row.issue.revision < last.issue.revision)
        yield from ((row.sequence, last.issue) for row in earlier)


def _superseded(said: _Said, by_number: dict[str, list[_Row]]) -> list[_Row]:
    """The certificates of another number that a revision says it replaces."""
    number = next((part for part in said.parts if part in by_number), "")
    if number == said.by.issue.number:
        return []
    return [old for old in by_number.get(number, ()) if old.before(said.by)]


def latest_of(connection: Connection, lines: Collection[Line]) -> frozenset[int]:
    """Return the latest certificate of each line, by its place; a line is a key of customer and of asset.

    It is that of the latest visit, by the last day of work, which nothing replaces and nobody withdrew.
    """
    void = withdrawn(connection)
    found = (
        _latest_of_all(connection, void)
        if len(lines) > _PORTION
        else {line: _latest(connection, line, void) for line in lines}
    )
    return frozenset(found[line] for line in lines if found.get(line))


def _in_order_of_visits(line: Line | None = None) -> object:
    row = CERTIFICATES.c
    query = select(row.sequence, row.number, row.customer_key, row.asset_key)
    if line is not None:
        query = query.where(row.customer_key == line[0], row.asset_key == line[1])
    return query.order_by(row.finished.desc(), row.issued.desc(), row.revision.desc(), row.sequence.desc())


def _latest(connection: Connection, line: Line, void: Collection[int]) -> int:
    """The latest certificate of a line that counts, 0 where none does."""
    at = 0
    while True:
        query = _in_order_of_visits(line).limit(_SOME).offset(at)  # type: ignore[attr-defined]  # a query
        rows = connection.execute(query).all()
        replaced = replacements(connection, of={row.number for row in rows})
        for row in rows:
            if row.sequence not in replaced and row.sequence not in void:
                return int(row.sequence)
        if len(rows) < _SOME:
            return 0
        at += _SOME


def _latest_of_all(connection: Connection, void: Collection[int]) -> dict[Line, int]:
    replaced = replacements(connection)
    found: dict[Line, int] = {}
    for sequence, _, customer, asset in connection.execute(_in_order_of_visits()):  # type: ignore[call-overload]
        if (customer, asset) not in found and sequence not in replaced and sequence not in void:
            found[customer, asset] = sequence
    return found
