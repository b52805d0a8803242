"""The proof that a register is what was added to it: nothing changed, removed or put in another order."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, Table, func, select
from sqlalchemy.exc import SQLAlchemyError

from certgen.errors import CertgenError, RegisterInUse
from certgen.register.audit_files import begins_with, changed_files, damaged_indices, files_of_nobody
from certgen.register.chain import EMPTY, Head, canonical, chained
from certgen.register.database import reading
from certgen.register.entry import (
    PDF,
    Json,
    certificate_of,
    certificate_row,
    instrument_rows,
    reservation_row,
    signature_row,
)
from certgen.register.guards import missing_guards
from certgen.register.register import Register
from certgen.register.tables import CERTIFICATES, ENTRIES, HEAD, INSTRUMENTS, RESERVATIONS, SIGNATURES

_PORTION = 500
_SEARCHED = (CERTIFICATES, INSTRUMENTS, RESERVATIONS, SIGNATURES)
Rows = dict[str, list[Json]]


@dataclass(slots=True)
class Audit:
    """What an audit found: where the register ends, and every fault in plain words."""

    head: Head = EMPTY
    faults: list[str] = field(default_factory=list)

    @property
    def holds(self) -> bool:
        """Whether nothing was found."""
        return not self.faults


@dataclass(slots=True)
class _Walk:
    """What the walk over the entries has seen: the chain so far, the files named, the rows expected.

    `unread` are files that were named and not yet looked at, with whose they are; `forms` names the PDF of
    each certificate as it was signed last, `signed` what has to begin with what, as two digests.
    """

    audit: Audit
    expected: tuple[int | None, str] | None
    files: set[str] = field(default_factory=set)
    unread: dict[str, str] = field(default_factory=dict)
    forms: dict[tuple[object, ...], str] = field(default_factory=dict)
    signed: list[tuple[object, str, str]] = field(default_factory=list)
    rows: dict[str, int] = field(default_factory=lambda: {table.name: 0 for table in _SEARCHED})
    seen: bool = False

    def fault(self, sequence: object, text: str) -> None:
        self.audit.faults.append(f"entry {sequence}: {text}")


def audit(register: Register, expected: tuple[int | None, str] | None = None) -> Audit:
    """Return what holds and what does not; `expected` is a head written down earlier, count and digest.

    The whole register is read in one state: what others add meanwhile takes no part.
    """
    found = Audit()
    walk = _Walk(found, expected)
    try:
        with reading(register.engine) as connection:
            _check(connection, walk)
    except RegisterInUse:  # nobody tampered with it
        raise
    except (SQLAlchemyError, CertgenError) as error:
        found.faults.append(f"the register cannot be read to its end: {error}")
    return found


def _check(connection: Connection, walk: _Walk) -> None:
    found = walk.audit
    found.faults += [f"the guard {name} is missing or changed" for name in missing_guards(connection)]
    for table in (ENTRIES, *_SEARCHED):
        found.faults += damaged_indices(connection, table)
    _entries(connection, walk)
    _end(connection, walk)
    _counts(connection, walk)
    found.faults += files_of_nobody(connection, walk.files)


def _entries(connection: Connection, walk: _Walk) -> None:
    for portion in _portions(connection):
        first, last = portion[0].sequence, portion[-1].sequence
        rows = {table.name: _rows(connection, table, first, last) for table in _SEARCHED}
        for entry in portion:
            _link(walk, entry)
            _entry(walk, entry, rows)
        walk.audit.faults += changed_files(connection, walk.unread)
        for sequence, before, after in walk.signed:
            if not begins_with(connection, after, before):
                walk.fault(sequence, "is not the certificate that was recorded, with a signature")
        walk.unread, walk.signed = {}, []


def _portions(connection: Connection) -> Iterator[list[Any]]:
    """The entries in the order of their sequence, some at a time."""
    after = None
    while True:
        query = select(ENTRIES).order_by(ENTRIES.c.sequence).limit(_PORTION)
        portion = connection.execute(
            query if after is None else query.where(ENTRIES.c.sequence > after)
        ).all()
        if not portion:
            return
        yield list(portion)
        after = portion[-1].sequence


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


def _is(expected: tuple[int | None, str] | None, head: Head) -> bool:
    if expected is None:
        return True
    count, digest = expected
    return count in (None, head.count) and head.digest.startswith(digest)


def _entry(walk: _Walk, entry: Any, rows: Mapping[str, Mapping[int, list[Json]]]) -> None:
    """What an entry says, against the rows by which it is found."""
    try:
        body = json.loads(entry.body)
        wanted = _wanted(entry.sequence, body)
        sound = body["sequence"] == entry.sequence and canonical(body) == entry.body
        _name_files(walk, body)
        _form(walk, body)
    except (ValueError, KeyError, TypeError, AttributeError):
        walk.fault(entry.sequence, "what it says cannot be read")
        return
    if not sound:
        walk.fault(entry.sequence, "what it says is not in its form, or belongs to another entry")
    for table in _SEARCHED:
        there, made = rows[table.name].get(entry.sequence, []), wanted[table.name]
        walk.rows[table.name] += len(made)
        if there != made:
            walk.fault(entry.sequence, f"the rows of it in {table.name} say something else")


def _name_files(walk: _Walk, body: Mapping[str, Any]) -> None:
    """Note the files of an entry; one that an earlier entry named is not looked at again."""
    for name, digest in body.get("sha256", {}).items():
        if not isinstance(digest, str):
            raise TypeError(digest)
        if digest not in walk.files:
            one = body["of"] if body["kind"] == "signature" else body["certificate"]
            whose = f"{name} of certificate {one['number']}, revision {one['revision']},"
            walk.unread[digest] = f"entry {body['sequence']}: {whose}"
            walk.files.add(digest)


def _form(walk: _Walk, body: Mapping[str, Any]) -> None:
    """Note the PDF of a certificate; a signature must be one of a certificate that stands before it."""
    if body["kind"] == "certificate":
        one = body["certificate"]
        walk.forms[body["sequence"], one["number"], one["revision"]] = body["sha256"][PDF]
    if body["kind"] == "signature":
        one, after = body["of"], body["sha256"][PDF]
        place = one["sequence"], one["number"], one["revision"]
        walk.signed.append((body["sequence"], walk.forms.get(place, ""), after))
        walk.forms[place] = after


def _wanted(sequence: int, body: Mapping[str, Any]) -> Rows:
    """The rows that follow from an entry."""
    rows: Rows = {table.name: [] for table in _SEARCHED}
    if body["kind"] == "reservation":
        rows["reservations"] = [reservation_row(sequence, body["number"])]
        return rows
    if body["kind"] == "signature":
        rows["signatures"] = [signature_row(body)]
        return rows
    if body["kind"] != "certificate":
        raise ValueError(body["kind"])
    one = certificate_of(body)
    rows["certificates"] = [certificate_row(sequence, one, body["sha256"])]
    rows["instruments"] = instrument_rows(sequence, one)
    return rows


def _end(connection: Connection, walk: _Walk) -> None:
    head = walk.audit.head
    rows = connection.execute(select(HEAD.c.count, HEAD.c.digest))
    kept = [Head(count, digest) for count, digest in rows]
    if kept != [head]:
        noted = ", ".join(map(str, kept)) or "nothing"
        walk.audit.faults.append(f"the register ends at {head}, and the end it keeps beside is {noted}")
    if not walk.seen and not _is(walk.expected, EMPTY) and walk.expected is not None:
        count, digest = walk.expected
        named = digest if count is None else f"{count}:{digest}"
        walk.audit.faults.append(f"the end that was written down, {named}, is not in the register")


def _counts(connection: Connection, walk: _Walk) -> None:
    for table in _SEARCHED:
        there = connection.execute(select(func.count()).select_from(table)).scalar()
        if there != walk.rows[table.name]:
            walk.audit.faults.append(
                f"{table.name} holds {there} rows, and its entries make {walk.rows[table.name]}"
            )
