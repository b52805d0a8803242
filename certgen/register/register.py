"""A register: certificates are added to it, numbers handed out by it, and both stay as they were."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Self

from sqlalchemy import Connection, Engine, func, insert, select, update

from certgen.errors import AlreadyRegistered, RegisterBroken, RegisterRefused, WrongUsage
from certgen.register.database import opened, reading, writing
from certgen.register.entries import (
    EMPTY,
    PDF,
    RESULTS,
    SURVEY,
    By,
    Certificate,
    Frame,
    Head,
    Held,
    Json,
    canonical,
    certificate_body,
    chained,
    reservation_body,
    signature_body,
)
from certgen.register.tables import (
    CERTIFICATES,
    ENTRIES,
    FILES,
    GONE,
    HEAD,
    LARGEST_PDF,
    MARKS,
    REMOVED,
    RESERVATIONS,
    SIGNATURES,
    is_whole,
    keep_file,
    put_rows,
    require_size,
    rows_of,
    unpacked,
)

_AUDIT = "Run: certgen register audit"


@dataclass(frozen=True, slots=True)
class Added:
    """Where an entry stands; `new` is False where the very same certificate was there before.

    `signs` is the entry of the certificate where this one is its signed form, which was added later.
    """

    sequence: int
    head: Head
    new: bool
    signs: int | None = None


@dataclass(frozen=True, slots=True)
class _There:
    """A certificate that is in the register, with the SHA-256 of its PDF as recorded and as signed since."""

    sequence: int
    digests: tuple[str, ...]


class Register:
    """A register that is open; every call is a transaction of its own. `by` is who writes into it."""

    def __init__(self, engine: Engine, by: By | None = None) -> None:
        self.engine = engine
        self.by = by or By()

    @classmethod
    def open(cls, where: str, *, create: bool = False, by: By | None = None) -> Self:
        """Open the register in a folder or under the address of a database; make it where `create`."""
        return cls(opened(where, create=create), by)

    def head(self) -> Head:
        """Return where the register ends."""
        with reading(self.engine) as connection:
            return _head(connection)

    def add(self, held: Held, recorded: str, largest: int = LARGEST_PDF) -> Added:
        """Add a certificate at the time `recorded`; adding the very same once more changes nothing.

        Where its number and revision stand there, and its PDF is the one there with something appended to it,
        it is added as the signed form of that one: that it is a signature is for the verification to tell.
        AlreadyRegistered where they stand there for other bytes; RegisterRefused for a PDF of more bytes than
        `largest`.
        """
        require_size(len(held.files[PDF]), largest)
        with writing(self.engine) as connection:
            head = locked_head(connection)
            there = _there(connection, held.certificate)
            if there is not None and not _is_new(connection, there, held):
                return Added(there.sequence, head, new=False)
            frame = next_frame(connection, head, recorded, self.by)
            if there is not None:
                return _sign(connection, head, there, frame, held)
            for name, digest in held.digests().items():
                keep_file(connection, digest, held.files[name])
            head = append(connection, head, certificate_body(frame, held))
            return Added(head.count, head, new=True)

    def check(self, held: Held) -> bool:
        """Return whether the very same certificate is there; AlreadyRegistered where another one is."""
        with reading(self.engine) as connection:
            there = _there(connection, held.certificate)
            return there is not None and not _is_new(connection, there, held)

    def reserve(self, prefix: str, recorded: str, digits: int = 3) -> str:
        """Hand out the next number that begins with `prefix`; no number is ever handed out twice.

        It is one more than the largest count behind that prefix, of a certificate or of a number handed out.
        """
        if prefix[-1:].isdigit():
            raise WrongUsage(f"{prefix}: this prefix would run into the count; end it in a letter or a sign.")
        if not prefix.isprintable() or prefix != prefix.lstrip():
            raise WrongUsage(f"{prefix!r}: no number begins so; write letters, digits and signs.")
        with writing(self.engine) as connection:
            head = locked_head(connection)
            number = f"{prefix}{_largest(connection, prefix) + 1:0{digits}d}"
            append(
                connection, head, reservation_body(next_frame(connection, head, recorded, self.by), number)
            )
            return number

    def body(self, number: str, revision: int | None = None) -> Json:
        """Return the entry of a certificate, its latest revision if none is named; WrongUsage without one."""
        query = select(ENTRIES.c.body).join(CERTIFICATES, ENTRIES.c.sequence == CERTIFICATES.c.sequence)
        query = query.where(CERTIFICATES.c.number == number).order_by(CERTIFICATES.c.revision.desc())
        if revision is not None:
            query = query.where(CERTIFICATES.c.revision == revision)
        with reading(self.engine) as connection:
            text = connection.execute(query.limit(1)).scalar()
        if text is None:
            which = "" if revision is None else f", revision {revision},"
            raise WrongUsage(f"certificate {number}{which} is not in the register.{self._meant(number)}")
        body: Json = json.loads(text)
        return body

    def _meant(self, number: str) -> str:
        row = CERTIFICATES.c.number
        query = select(row).where(func.lower(row) == number.strip().lower(), row != number).limit(1)
        with reading(self.engine) as connection:
            near = connection.execute(query).scalar()
        return "" if near is None else f" Did you mean {near}?"

    def recorded(self, one: Certificate) -> bytes:
        """Return the PDF of a certificate, as it was signed last; WrongUsage where the register lacks it."""
        with reading(self.engine) as connection:
            there = _there(connection, one)
        if there is None:
            raise WrongUsage(f"certificate {one.number}, revision {one.revision}, is not in the register.")
        return self.file(there.digests[-1])

    def signatures(self, sequence: int) -> list[Json]:
        """Return the entries by which the certificate of that entry was signed since, the latest one last."""
        query = select(ENTRIES.c.body).join(SIGNATURES, SIGNATURES.c.sequence == ENTRIES.c.sequence)
        query = query.where(SIGNATURES.c.certificate == sequence).order_by(ENTRIES.c.sequence)
        with reading(self.engine) as connection:
            return [json.loads(body) for body in connection.execute(query).scalars()]

    def marks(self, sequence: int) -> list[Json]:
        """Return the later entries on the certificate of that entry: withdrawn, notes, disposed, in order."""
        query = select(ENTRIES.c.body).join(MARKS, MARKS.c.sequence == ENTRIES.c.sequence)
        query = query.where(MARKS.c.certificate == sequence).order_by(ENTRIES.c.sequence)
        with reading(self.engine) as connection:
            return [json.loads(body) for body in connection.execute(query).scalars()]

    def file(self, digest: str) -> bytes:
        """Return the file of this SHA-256; RegisterBroken where it is not as it was added."""
        return self.files([digest])[digest]

    def files(self, digests: Sequence[str]) -> dict[str, bytes]:
        """Return several files by their SHA-256.

        RegisterBroken where one is not as it was added, RegisterRefused where its bytes were disposed of.
        """
        with reading(self.engine) as connection:
            return {digest: _file(connection, digest) for digest in digests}


def _file(connection: Connection, digest: str) -> bytes:
    row = connection.execute(select(FILES.c.form, FILES.c.data).where(FILES.c.sha256 == digest)).first()
    data = None if row is None else unpacked(row.form, row.data)
    if data is not None and is_whole(digest, data):
        return data
    whose = _whose(connection, digest)
    if row is not None and row.form == GONE and _is_disposed(connection, digest):
        raise RegisterRefused(f"{whose} was disposed of: its digest is kept, its bytes are not.")
    raise RegisterBroken(f"{whose} is not as it was added. {_AUDIT}")


def _is_disposed(connection: Connection, digest: str) -> bool:
    query = select(REMOVED.c.sequence).where(REMOVED.c.sha256 == digest)
    return connection.execute(query).first() is not None


def _whose(connection: Connection, digest: str) -> str:
    """A file as a message names it: what it is, and of which certificate."""
    row = CERTIFICATES.c
    query = select(row.number, row.revision)
    signed = query.join(SIGNATURES, SIGNATURES.c.certificate == row.sequence)
    named = (
        (PDF, query.where(row.pdf_sha256 == digest)),
        (PDF, signed.where(SIGNATURES.c.pdf_sha256 == digest)),
        (SURVEY, query.where(row.survey_sha256 == digest)),
        (RESULTS, query.where(row.results_sha256 == digest)),
    )
    for name, each in named:
        one = connection.execute(each.limit(1)).first()
        if one is not None:
            return f"{name} of certificate {one.number}, revision {one.revision},"
    return f"the file {digest}"


def _head(connection: Connection) -> Head:
    count, digest = connection.execute(select(HEAD.c.count, HEAD.c.digest)).one()
    return Head(count, digest)


def locked_head(connection: Connection) -> Head:
    """Return the end of the register, which nobody else moves before this transaction ends."""
    count, digest = connection.execute(select(HEAD.c.count, HEAD.c.digest).with_for_update()).one()
    return Head(count, digest)


def next_frame(connection: Connection, head: Head, clock: str, by: By) -> Frame:
    """Return what the next entry begins with: never recorded before the entry that came last.

    Clocks of several machines differ; where that of the writer is behind, what it says is kept beside.
    """
    last = clock
    if head != EMPTY:
        query = select(ENTRIES.c.body).where(ENTRIES.c.sequence == head.count)
        last = str(json.loads(connection.execute(query).scalar_one())["recorded"])
    return Frame(head.count + 1, max(clock, last), by, clock if clock < last else None)


def append(connection: Connection, head: Head, body: Json) -> Head:
    """Add an entry, with the rows by which it is found, after the end of the register; return the new end."""
    text, sequence = canonical(body), head.count + 1
    digest = chained(head.digest, text)
    row = {"sequence": sequence, "previous": head.digest, "body": text, "digest": digest}
    connection.execute(insert(ENTRIES).values(row))
    put_rows(connection, [rows_of(sequence, body)])
    connection.execute(update(HEAD).values(count=sequence, digest=digest))
    _require_written(connection, Head(sequence, digest), text)
    return Head(sequence, digest)


def _require_written(connection: Connection, head: Head, text: str) -> None:
    """Raise RegisterBroken where the database did not keep an entry: a trigger can swallow it in silence."""
    query = select(ENTRIES.c.body, ENTRIES.c.digest).where(ENTRIES.c.sequence == head.count)
    kept = connection.execute(query).first()
    if kept is None or tuple(kept) != (text, head.digest) or _head(connection) != head:
        raise RegisterBroken(f"the database did not keep entry {head.count}; nothing was added. {_AUDIT}")


def _there(connection: Connection, one: Certificate) -> _There | None:
    row, signed = CERTIFICATES.c, SIGNATURES.c
    query = select(row.sequence, row.pdf_sha256)
    query = query.where(row.number == one.number, row.revision == one.revision)
    found = connection.execute(query).first()
    if found is None:
        return None
    later = select(signed.pdf_sha256).where(signed.certificate == found.sequence).order_by(signed.sequence)
    return _There(found.sequence, (found.pdf_sha256, *connection.execute(later).scalars()))


def _is_new(connection: Connection, there: _There, held: Held) -> bool:
    """Whether it is the one there with a signature that is not; AlreadyRegistered where it is another one."""
    pdf = held.files[PDF]
    if sha256(pdf).hexdigest() in there.digests:
        return False
    last = _file(connection, there.digests[-1])
    if pdf.startswith(last):
        return True
    raise AlreadyRegistered(held.certificate.number, held.certificate.revision, last.startswith(pdf))


def _sign(connection: Connection, head: Head, there: _There, frame: Frame, held: Held) -> Added:
    one, digest = held.certificate, sha256(held.files[PDF]).hexdigest()
    of: Json = {"sequence": there.sequence, "number": one.number, "revision": one.revision}
    keep_file(connection, digest, held.files[PDF])
    head = append(connection, head, signature_body(frame, of, digest, held.signed_by))
    return Added(head.count, head, new=True, signs=there.sequence)


def _largest(connection: Connection, prefix: str) -> int:
    largest = [
        connection.execute(select(func.max(table.c.value)).where(table.c.prefix == prefix)).scalar() or 0
        for table in (CERTIFICATES, RESERVATIONS)
    ]
    return max(largest)
