"""Which certificates of a register are replaced by another one in it, and which is the latest of its line.

A certificate is replaced by a later revision of its number, and by one of another number that says so in
`supersedes`. That is a text; it names a certificate where a number of the register stands in it as words of
their own, and then all of its revisions that were issued before: who names revision 0 of a certificate that
has two replaces both. One that was withdrawn replaces nothing.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, bindparam, select

from certgen.register.entries import WITHDRAWN, parts
from certgen.register.tables import CERTIFICATES, MARKS, REPLACING

_FEW = 5000  # numbers; for more of them it is quicker to look at all
_PORTION = 500  # as many values as any database takes in one statement
_SOME = 4  # certificates of a line, among which the latest one that counts nearly always is

Line = tuple[str, str]
_ROW = CERTIFICATES.c
_BY_VISIT = select(_ROW.sequence, _ROW.number, _ROW.customer_key, _ROW.asset_key).order_by(
    _ROW.finished.desc(), _ROW.issued.desc(), _ROW.revision.desc(), _ROW.sequence.desc()
)
_OF_LINE = (
    _BY_VISIT.where(_ROW.customer_key == bindparam("customer"), _ROW.asset_key == bindparam("asset"))
    .limit(bindparam("most"))
    .offset(bindparam("at"))
)


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
        # the certificates of another number that a revision says it replaces
        number = next((part for part in one.parts if part in by_number), "")
        if number == one.by.issue.number:
            superseded = []
        else:
            superseded = [old for old in by_number.get(number, ()) if old.before(one.by)]
        for old in superseded:
            found[old.sequence] = one.by.issue
    return found


def _said(connection: Connection, last: int | None) -> Iterator[_Said]:
    """What certificates say that they replace of another number."""
    row = CERTIFICATES.c
    query = select(row.sequence, row.number, row.revision, row.issued, REPLACING.c.said)
    query = query.select_from(REPLACING).join(CERTIFICATES, REPLACING.c.sequence == row.sequence)
    query = query.order_by(REPLACING.c.sequence)  # so that no database begins with all certificates
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


def latest_of(connection: Connection, lines: Collection[Line]) -> frozenset[int]:
    """Return the latest certificate of each line, by its place; a line is a key of customer and of asset.

    It is that of the latest visit, by the last day of work, which nothing replaces and nobody withdrew.
    """
    void = withdrawn(connection)
    if len(lines) > _PORTION:
        replaced = replacements(connection)
        found: dict[Line, int] = {}
        for sequence, _, customer, asset in connection.execute(_BY_VISIT):
            if (customer, asset) not in found and sequence not in replaced and sequence not in void:
                found[customer, asset] = sequence
    else:
        found = _latest_of_some(connection, lines, void)
    return frozenset(found[line] for line in lines if line in found)


def _latest_of_some(
    connection: Connection, lines: Collection[Line], void: Collection[int]
) -> dict[Line, int]:
    """The latest certificates of a few lines that count: of some of each, then of some more."""
    found: dict[Line, int] = {}
    left, at, most = list(lines), 0, _SOME
    while left:
        rows = {line: _some_of_line(connection, line, at, most) for line in left}
        replaced = replacements(connection, of={number for each in rows.values() for _, number in each})
        for line, each in rows.items():
            counting = (one for one, _ in each if one not in replaced and one not in void)
            latest = next(counting, None)
            if latest is not None:
                found[line] = latest
        left = [line for line in left if line not in found and len(rows[line]) == most]
        at, most = at + most, 4 * most
    return found


def _some_of_line(connection: Connection, line: Line, at: int, most: int) -> list[tuple[int, str]]:
    values = {"customer": line[0], "asset": line[1], "at": at, "most": most}
    return [(sequence, number) for sequence, number, *_ in connection.execute(_OF_LINE, values)]
