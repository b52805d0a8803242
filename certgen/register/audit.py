"""The proof that a register is what was added to it: nothing changed, removed or put in another order."""

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, Table, func, select
from sqlalchemy.exc import SQLAlchemyError

from certgen.errors import CertgenError, RegisterInUse
from certgen.register.append_only_triggers import missing_guards, strange_objects
from certgen.register.audit_files import damaged_indices, file_faults, portions
from certgen.register.database import reading
from certgen.register.entries import (
    CERTIFICATE,
    DISPOSED,
    EMPTY,
    KEPT_AT_LEAST,
    MARKING,
    NOTE,
    SIGNATURE,
    Head,
    Json,
    canonical,
    chained,
    kept_long_enough,
    marked,
)
from certgen.register.migrations import STEPS, steps_of_old
from certgen.register.register import Register
from certgen.register.tables import DERIVED, ENTRIES, HEAD, METADATA, rows_of

_ONE = ("sequence", "number", "revision")
_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", re.ASCII)


@dataclass(slots=True)
class Known:
    """The certificates seen so far, with the digests of their files, and what was said of each but once.

    `since` says when each was issued and recorded, `disposed` names those of which nothing is left.
    """

    digests: dict[tuple[int, str, int], set[str]] = field(default_factory=dict)
    said: set[tuple[str, int]] = field(default_factory=set)
    since: dict[int, tuple[str, str]] = field(default_factory=dict)
    disposed: list[str] = field(default_factory=list)

    def faults(self, body: Mapping[str, Any]) -> Iterator[str]:
        """Yield what is wrong with what an entry names; note what it adds. KeyError, TypeError: no entry."""
        kind = body["kind"]
        if kind == CERTIFICATE:
            one = body["certificate"]
            self.digests[body["sequence"], one["number"], one["revision"]] = _texts(body["sha256"].values())
            self.since[body["sequence"]] = one["issued"], body["recorded"]
        if kind == SIGNATURE:
            if _place(body["of"]) in self.digests:
                self.digests[_place(body["of"])] |= _texts(body["sha256"].values())
            else:
                yield "signs a certificate that does not stand before it"
        if kind in MARKING:
            yield from self._marks(kind, body)

    def _marks(self, kind: str, body: Mapping[str, Any]) -> Iterator[str]:
        if not isinstance(body["reason"], str) or not body["reason"].strip():
            yield "states no reason"
        for one in marked(dict(body)):
            if _place(one) not in self.digests:
                yield "speaks of a certificate that does not stand before it"
            elif kind != NOTE and (kind, one["sequence"]) in self.said:
                yield "says of a certificate what was said before"
            self.said.add((kind, one["sequence"]))
        if kind == DISPOSED and not _texts(body["removed"]) <= self.digests.get(_place(body["of"]), set()):
            yield "disposes of files that are not of its certificate"
        if kind == DISPOSED:
            # bytes that went at once may never have been there: nobody could ever have looked at them
            of = body["of"]
            named = f"certificate {of['number']}, revision {of['revision']}"
            self.disposed.append(f"{named} (entry {of['sequence']})")
            if of["sequence"] in self.since and not kept_long_enough(
                *self.since[of["sequence"]], body["recorded"]
            ):
                yield f"disposes of {named} less than {KEPT_AT_LEAST} days after it was issued and recorded"


def _place(one: Mapping[str, Any]) -> tuple[int, str, int]:
    sequence, number, revision = (one[name] for name in _ONE)
    return sequence, number, revision


def _texts(values: Any) -> set[str]:
    found = set(values)
    if not all(isinstance(value, str) for value in found):
        raise TypeError(found)
    return found


@dataclass(slots=True)
class Audit:
    """What an audit found: where the register ends, and every fault in plain words.

    `disposed` names the certificates whose bytes are gone: of them nothing can be computed any more.
    """

    head: Head = EMPTY
    faults: list[str] = field(default_factory=list)
    disposed: list[str] = field(default_factory=list)

    @property
    def holds(self) -> bool:
        """Whether nothing was found."""
        return not self.faults


@dataclass(slots=True)
class _Walk:
    """What the walk over the entries has seen: the chain so far, the last time, rows expected."""

    audit: Audit
    expected: tuple[int, str] | None
    known: Known = field(default_factory=Known)
    rows: dict[str, int] = field(default_factory=lambda: {table.name: 0 for table in DERIVED})
    recorded: str = ""
    says_who: bool = False
    seen: bool = False

    def fault(self, sequence: object, text: str) -> None:
        self.audit.faults.append(f"entry {sequence}: {text}")


def audit(register: Register, expected: tuple[int, str] | None = None) -> Audit:
    """Return what holds and what does not; `expected` is a head written down earlier, count and digest.

    Every entry is held against the certificate that was recorded with it.
    """
    found = audit_entries(register, expected)
    found.faults += file_faults(register)
    return found


def audit_entries(register: Register, expected: tuple[int, str] | None = None) -> Audit:
    """Return an audit of the entries, their chain and the rows by which they are found, not of the files.

    All of it is read in one state: what others add meanwhile takes no part.
    """
    found = Audit()
    try:
        with reading(register.engine) as connection:
            walk = _Walk(found, expected)
            steps = steps_of_old(register.engine)
            found.faults += _objects(connection, tuple(STEPS) if steps is None else tuple(steps))
            _check(connection, walk, (ENTRIES, *(DERIVED if steps is None else ())))
    except RegisterInUse:  # nobody tampered with it
        raise
    except (SQLAlchemyError, CertgenError) as error:
        found.faults.append(f"the register cannot be read to its end: {error}")
    return found


def _objects(connection: Connection, steps: tuple[str, ...]) -> Iterator[str]:
    """What is missing of the database's own guards, and what else stands in it."""
    yield from (f"the guard {name} is missing or changed" for name in missing_guards(connection, steps))
    for strange in strange_objects(connection, steps, METADATA.tables.keys()):
        yield f"the database holds a {strange}, which is none of the register"


def _check(connection: Connection, walk: _Walk, tables: tuple[Table, ...]) -> None:
    found = walk.audit
    for table in tables:
        found.faults += damaged_indices(connection, table)
    for portion in portions(connection):
        first, last = portion[0].sequence, portion[-1].sequence
        rows = {table.name: _rows(connection, table, first, last) for table in DERIVED}
        for entry in portion:
            _link(walk, entry)
            _entry(walk, entry, rows)
    head = walk.audit.head
    kept = [Head(*row) for row in connection.execute(select(HEAD.c.count, HEAD.c.digest))]
    if kept != [head]:
        noted = ", ".join(map(str, kept)) or "nothing"
        walk.audit.faults.append(f"the register ends at {head}, and the end it keeps beside is {noted}")
    if not walk.seen and not _is(walk.expected, EMPTY) and walk.expected is not None:
        count, digest = walk.expected
        walk.audit.faults.append(f"the end that was written down, {count}:{digest}, is not in the register")
    for table in DERIVED:
        there = connection.execute(select(func.count()).select_from(table)).scalar()
        if there != walk.rows[table.name]:
            walk.audit.faults.append(
                f"{table.name} holds {there} rows, and its entries make {walk.rows[table.name]}"
            )
    found.disposed = walk.known.disposed


def _rows(connection: Connection, table: Table, first: int, last: int) -> dict[int, list[Json]]:
    query = select(table).where(table.c.sequence.between(first, last))
    query = query.order_by(*table.primary_key.columns)
    found: dict[int, list[Json]] = {}
    rows = connection.execute(query)
    names = tuple(rows.keys())
    for row in rows.all():
        found.setdefault(row.sequence, []).append(dict(zip(names, row, strict=True)))
    return found


def _link(walk: _Walk, entry: Any) -> None:
    """The place of an entry in the chain."""
    head = walk.audit.head
    if entry.sequence != head.count + 1:
        walk.fault(entry.sequence, f"stands after entry {head.count}")
    if entry.previous != head.digest:
        walk.fault(entry.sequence, "does not follow from the entry before it")
    if entry.digest != chained(head.digest, f"{entry.body}"):
        walk.fault(entry.sequence, "its digest is not that of what it says and of all before it")
    walk.audit.head = Head(entry.sequence, f"{entry.digest}")
    walk.seen = walk.seen or _is(walk.expected, walk.audit.head)


def _is(expected: tuple[int, str] | None, head: Head) -> bool:
    if expected is None:
        return True
    count, digest = expected
    return count == head.count and head.digest.startswith(digest)


def _entry(walk: _Walk, entry: Any, rows: Mapping[str, Mapping[int, list[Json]]]) -> None:
    """What an entry says, against the rows by which it is found."""
    try:
        body: Json = json.loads(entry.body)
        wanted = rows_of(entry.sequence, body)
        sound = body["sequence"] == entry.sequence and canonical(body) == entry.body
        faults = [*_time(walk, body), *walk.known.faults(body)]
    except (ValueError, KeyError, TypeError, AttributeError):
        walk.fault(entry.sequence, "what it says cannot be read")
        return
    if not sound:
        walk.fault(entry.sequence, "what it says is not in its form, or belongs to another entry")
    for fault in faults:
        walk.fault(entry.sequence, fault)
    for table in DERIVED:
        there, made = rows[table.name].get(entry.sequence, []), wanted.get(table.name, [])
        walk.rows[table.name] += len(made)
        if there != made:
            walk.fault(entry.sequence, f"the rows of it in {table.name} say something else")


def _time(walk: _Walk, body: Mapping[str, Any]) -> Iterator[str]:
    """When an entry was recorded and by whom: never before the one before it; once said, always said."""
    recorded, before = body["recorded"], walk.recorded
    if not _TIME.fullmatch(recorded):
        yield f"was recorded at no time, {recorded!r}"
        return
    if recorded < before:
        yield f"was recorded {recorded}, before the entry before it ({before})"
    walk.recorded = max(recorded, before)
    if walk.says_who and "by" not in body:
        yield "does not say who recorded it, as those before it do"
    walk.says_who = walk.says_who or "by" in body
