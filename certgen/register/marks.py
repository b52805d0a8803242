"""What is said of a certificate after it was recorded: withdrawn, an instrument deviates, disposed of.

Each is an entry of its own with its reason; what was recorded before stays as it was. Only the bytes of a
certificate that was kept long enough go, and their digests stay.
"""

import json
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from sqlalchemy import Connection, Row, bindparam, or_, select, update

from certgen.errors import RegisterRefused, WrongUsage
from certgen.register.database import reading, writing
from certgen.register.entries import (
    DISPOSED,
    KEPT_AT_LEAST,
    WITHDRAWN,
    Head,
    Json,
    disposed_body,
    kept_long_enough,
    key,
    note_body,
    withdrawn_body,
)
from certgen.register.in_force import withdrawn
from certgen.register.register import Register, append, locked_head, next_frame
from certgen.register.tables import CERTIFICATES, ENTRIES, FILES, GONE, INSTRUMENTS, MARKS, SIGNATURES

_PORTION = 500


@dataclass(frozen=True, slots=True)
class Relying:
    """Which certificates rely on an instrument, by its serial number and days of work (YYYY-MM-DD)."""

    serial: str
    since: str | None = None
    until: str | None = None


@dataclass(frozen=True, slots=True)
class Marked:
    """The certificates that entries speak of, by `sequence`, `number` and `revision`, and the new end."""

    certificates: tuple[Json, ...]
    head: Head


def withdraw(register: Register, of: Json, reason: str, recorded: str) -> Marked:
    """Say of a certificate that it was recorded in error; RegisterRefused where that was said before.

    It counts no more: it replaces nothing, and no line is followed by it. `of` names it.
    """
    with writing(register.engine) as connection:
        head = locked_head(connection)
        _require_unmarked(connection, [of], WITHDRAWN)
        frame = next_frame(connection, head, recorded, register.by)
        return Marked((of,), append(connection, head, withdrawn_body(frame, of, reason)))


def note(register: Register, which: Relying, reason: str, recorded: str) -> Marked:
    """Say that an instrument was found deviating, and which certificates rely on it but those withdrawn.

    WrongUsage where there are none.
    """
    with writing(register.engine) as connection:
        head = locked_head(connection)
        row, used = CERTIFICATES.c, INSTRUMENTS.c
        query = (
            _named()
            .join(INSTRUMENTS, used.sequence == row.sequence)
            .where(used.serial_key == key(which.serial))
        )
        query = query if which.since is None else query.where(row.finished >= which.since)
        query = query if which.until is None else query.where(row.started <= which.until)
        void = withdrawn(connection)
        rows = connection.execute(query.distinct().order_by(row.sequence)).all()
        found = [_name(one) for one in rows if one.sequence not in void]
        if not found:
            known = sorted(set(connection.execute(select(used.serial)).scalars()))
            like = get_close_matches(which.serial, known, 3)
            hint = f" Did you mean {' or '.join(like)}?" if like else ""
            raise WrongUsage(
                f"{which.serial}: no certificate of these days relies on such an instrument.{hint}"
            )
        touched = found
        frame = next_frame(connection, head, recorded, register.by)
        return Marked(
            tuple(touched), append(connection, head, note_body(frame, which.serial, touched, reason))
        )


def dispose(register: Register, certificates: Sequence[Json], reason: str, recorded: str) -> Marked:
    """Remove the bytes of certificates whose time of keeping is over; their digests stay.

    RegisterRefused where those of one are gone already, or one was issued or recorded less than
    `KEPT_AT_LEAST` days ago: nothing is removed then. A file that another
    certificate needs stays until that one goes.
    """
    with writing(register.engine) as connection:
        if connection.dialect.name == "sqlite":  # what is freed is overwritten
            connection.exec_driver_sql("PRAGMA secure_delete = ON")
        head = locked_head(connection)
        _require_unmarked(connection, certificates, DISPOSED)
        _require_kept(connection, certificates, recorded)
        for of in certificates:
            # the files of a certificate that no other one needs whose bytes are still kept, by their SHA-256
            row, signed = CERTIFICATES.c, SIGNATURES.c
            names = (row.pdf_sha256, row.survey_sha256, row.results_sha256)
            mine = list(connection.execute(select(*names).where(row.sequence == of["sequence"])).one())
            mine += connection.execute(
                select(signed.pdf_sha256).where(signed.certificate == of["sequence"])
            ).scalars()
            gone = select(MARKS.c.certificate).where(MARKS.c.kind == DISPOSED)
            shared = select(*names).where(
                or_(*(name.in_(mine) for name in names)), row.sequence != of["sequence"]
            )
            shared = shared.where(row.sequence.not_in(gone))
            needed = {digest for one in connection.execute(shared) for digest in one}
            removed = [digest for digest in dict.fromkeys(mine) if digest not in needed]
            frame = next_frame(connection, head, recorded, register.by)
            head = append(connection, head, disposed_body(frame, of, removed, reason))
            change = update(FILES).where(FILES.c.sha256 == bindparam("digest"))
            rows = [{"digest": digest} for digest in removed]
            if rows:
                connection.execute(change.values(data=b"", form=GONE), rows)
    _let_go(register)
    return Marked(tuple(certificates), head)


def _let_go(register: Register) -> None:
    """Have SQLite carry over what was written ahead, where the bytes would else be found for a while."""
    if register.engine.dialect.name == "sqlite":
        with register.engine.connect() as connection:
            connection.exec_driver_sql("COMMIT")
            connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
            connection.exec_driver_sql("BEGIN")


def certificates_of(register: Register, number: str, revision: int | None) -> list[Json]:
    """Return how entries name a certificate, all revisions unless one is named; WrongUsage without one."""
    register.body(number, revision)
    row = CERTIFICATES.c
    query = _named().where(row.number == number).order_by(row.sequence)
    with reading(register.engine) as connection:
        found = connection.execute(query if revision is None else query.where(row.revision == revision)).all()
    return [_name(one) for one in found]


def issued_before(register: Register, day: str) -> list[Json]:
    """Return how entries name the certificates issued before that day (YYYY-MM-DD) whose bytes are kept."""
    row = CERTIFICATES.c
    with reading(register.engine) as connection:
        gone = _marked(connection, DISPOSED)
        found = connection.execute(_named().where(row.issued < day).order_by(row.sequence)).all()
    return [_name(one) for one in found if one.sequence not in gone]


def _named() -> Any:
    row = CERTIFICATES.c
    return select(row.sequence, row.number, row.revision)


def _name(one: "Row[Any]") -> Json:
    return {"sequence": one.sequence, "number": one.number, "revision": one.revision}


def _marked(connection: Connection, kind: str) -> Collection[int]:
    return set(connection.execute(select(MARKS.c.certificate).where(MARKS.c.kind == kind)).scalars())


def _require_unmarked(connection: Connection, certificates: Sequence[Json], kind: str) -> None:
    already = _marked(connection, kind)
    told = {WITHDRAWN: "was withdrawn", DISPOSED: "was disposed of"}[kind]
    for of in certificates:
        if of["sequence"] in already:
            named = f"certificate {of['number']}, revision {of['revision']},"
            raise RegisterRefused(f"{named} {told} before; nothing was added.")


def _require_kept(connection: Connection, certificates: Sequence[Json], when: str) -> None:
    """An entry whose bytes are gone at once is one of which nobody could ever compute anything."""
    for of in certificates:
        query = select(ENTRIES.c.body).where(ENTRIES.c.sequence == of["sequence"])
        body = json.loads(connection.execute(query).scalar_one())
        issued, recorded = body["certificate"]["issued"], body["recorded"]
        if not kept_long_enough(issued, recorded, when):
            named = f"certificate {of['number']}, revision {of['revision']},"
            told = f"was issued {issued} and recorded {recorded[:10]}, less than {KEPT_AT_LEAST} days ago"
            raise RegisterRefused(f"{named} {told}; nothing was removed.")
