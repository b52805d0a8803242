"""The part of an audit that looks at the files: each is what was added, and belongs to an entry."""

from collections.abc import Iterator, Mapping, Set
from hashlib import sha256

from sqlalchemy import Connection, Table, select

from certgen.register.tables import FILES

_PORTION = 50  # a register is larger than memory
_NAMES_PORTION = 5000


def changed_files(connection: Connection, named: Mapping[str, str]) -> Iterator[str]:
    """Yield a fault for each of these files that is missing or not what was added.

    `named` says whose it is by its SHA-256. They are read in the order of the entries, in which they were
    written: a disk need not jump about for them.
    """
    digests = list(named)
    for at in range(0, len(digests), _PORTION):
        some = digests[at : at + _PORTION]
        query = select(FILES.c.sha256, FILES.c.data).where(FILES.c.sha256.in_(some))
        there = {row.sha256: row.data for row in connection.execute(query).all()}
        for digest in some:
            if digest not in there:
                yield f"{named[digest]} is missing (SHA-256 {digest})"
            elif not _is(there[digest], digest):
                yield f"{named[digest]} is not what was added (SHA-256 {digest})"


def _is(data: object, digest: str) -> bool:
    return isinstance(data, bytes) and sha256(data).hexdigest() == digest


def begins_with(connection: Connection, whole: str, part: str) -> bool:
    """Return whether one file, named by its SHA-256, is another one with something appended."""
    query = select(FILES.c.sha256, FILES.c.data).where(FILES.c.sha256.in_([whole, part]))
    there = {row.sha256: row.data for row in connection.execute(query).all()}
    first, longer = there.get(part), there.get(whole)
    return isinstance(first, bytes) and isinstance(longer, bytes) and longer.startswith(first)


def files_of_nobody(connection: Connection, known: Set[str]) -> Iterator[str]:
    """Yield a fault for each file that no entry names."""
    names = connection.execute(select(FILES.c.sha256).order_by(FILES.c.sha256)).scalars()
    for some in names.partitions(_NAMES_PORTION):
        yield from (f"the file {name} belongs to no entry" for name in some if name not in known)


def damaged_indices(connection: Connection, table: Table) -> list[str]:
    """Return what SQLite finds wrong with a table and its indices: what an index leaves out is never found.

    PostgreSQL is trusted to keep its indices: it has no such check that everybody may run.
    """
    if connection.dialect.name != "sqlite":
        return []
    found = connection.exec_driver_sql(f"PRAGMA integrity_check({table.name})").scalars().all()
    return [f"the table {table.name} is damaged: {text}" for text in found if text != "ok"]
