"""The part of an audit that looks at files: each is what was added, and says the same as its entry."""

import json
from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import Connection, Row, Table, select
from sqlalchemy.exc import SQLAlchemyError

from certgen.errors import CertgenError, RegisterInUse
from certgen.register.database import reading
from certgen.register.entries import CERTIFICATE, DISPOSED, FILE_NAMES, PDF, RESULTS, SIGNATURE, SURVEY
from certgen.register.intake import take
from certgen.register.register import Register
from certgen.register.tables import ENTRIES, FILES, GONE, MARKS, REMOVED, is_whole, unpacked
from certgen.signature.claim import claim
from certgen.verify.issued_file import Written, carried, written

_IDENTITY = ("number", "revision", "issued", "supersedes", "reason")
_PORTION = 500
_ENTRIES = 32  # a register is larger than memory
_NAMES_PORTION = 5000
_WITH_FILES = (CERTIFICATE, SIGNATURE)
Body = Mapping[str, Any]


def against_pdf(body: Mapping[str, Any], files: Mapping[str, bytes]) -> Iterator[str]:
    """Yield what an entry says otherwise than the PDF recorded with it; `files` are its files by name.

    The files inside are those recorded beside it, number, revision, day of issue and verdicts are those of
    the results inside, and what follows the certificate as issued is a signature. That the results are those
    of the survey takes computing them again.
    """
    try:
        inside = _inside(files[PDF])
    except CertgenError as error:
        yield f"{PDF} is no certificate: {error}"
        return
    for name in (SURVEY, RESULTS):
        if inside.files.get(name) != files[name]:
            yield f"{name} is not the one that {PDF} carries"
    yield from _signed(body, files[PDF], inside.length)
    try:
        yield from _identity(body, files)
    except (ValueError, KeyError, TypeError, AttributeError, CertgenError):
        yield f"what {RESULTS} says cannot be read"


def appended(body: Mapping[str, Any], pdf: bytes) -> Iterator[str]:
    """Yield what is wrong with the signed form of a certificate, for the entry by which it was added."""
    try:
        length = _inside(pdf).length
    except CertgenError as error:
        yield f"{PDF} is no certificate: {error}"
        return
    if length == len(pdf):
        yield "nothing was appended to what was recorded"
    yield from _signed(body, pdf, length)


def _inside(pdf: bytes) -> Written:
    """What a PDF carries, quickly where it is written as certgen writes it."""
    quickly = written(pdf)
    if quickly is not None:
        return quickly
    found = carried(pdf)
    return Written({SURVEY: found.survey, RESULTS: found.results}, len(found.base))


def _signed(body: Mapping[str, Any], pdf: bytes, length: int) -> Iterator[str]:
    found = claim(pdf, length)
    if found.fault:
        yield found.fault
    elif found.signed_by and tuple(body.get("signed_by", found.signed_by)) != found.signed_by:
        yield f"it is signed by {', '.join(found.signed_by)}, and the entry names others"


def _identity(body: Mapping[str, Any], files: Mapping[str, bytes]) -> Iterator[str]:
    said, found = body["certificate"], json.loads(files[RESULTS])
    if found["survey_sha256"] != body["sha256"][SURVEY]:
        yield f"{RESULTS} was made from another survey"
    inside = found.get("certificate") or {}
    if not set(_IDENTITY) <= inside.keys():
        # what identifies a certificate whose results do not say all of it, as those of the first ones
        one = take(PDF, files[PDF]).certificate
        by_survey = {name: getattr(one, name) for name in _IDENTITY}
        inside = {**by_survey, **inside}
    told = {**{name: inside[name] for name in _IDENTITY}, "decision": found["decision"]}
    told |= {which: found["overall"][which] for which in ("as_found", "as_left")}
    for name, value in told.items():
        if said[name] != value or type(said[name]) is not type(value):
            yield f"says {name.replace('_', ' ')} {said[name]!r}, and the certificate {value!r}"


def file_faults(register: Register) -> list[str]:
    """Return what is wrong with the files of a register, read in one state.

    Entries that cannot be read are passed over: the walk along the chain names them.
    """
    found: list[str] = []
    try:
        with reading(register.engine) as connection:
            files = Files.of(connection)
            for portion in portions(connection):
                found += files.faults(connection, [body for one in portion for body in _of_files(one)])
            found += files_of_nobody(connection, files.named)
    except RegisterInUse:  # nobody tampered with it
        raise
    except (SQLAlchemyError, CertgenError) as error:
        found.append(f"the files of the register cannot be read to their end: {error}")
    return found


def portions(connection: Connection) -> "Iterator[Sequence[Row[Any]]]":
    """Yield the entries in the order of their sequence, some at a time."""
    after = None
    while True:
        query = select(ENTRIES).order_by(ENTRIES.c.sequence).limit(_PORTION)
        portion = connection.execute(
            query if after is None else query.where(ENTRIES.c.sequence > after)
        ).all()
        if not portion:
            return
        yield portion
        after = portion[-1].sequence


def _of_files(entry: "Row[Any]") -> "Iterator[Body]":
    """What an entry says, where it names files and can be read."""
    try:
        body = json.loads(entry.body)
        kind, digests = body["kind"], body["sha256"] if body["kind"] in _WITH_FILES else {}
        one = body.get("certificate" if kind == CERTIFICATE else "of", {})
        needed = FILE_NAMES if kind == CERTIFICATE else (PDF,)
        sound = digests and set(needed) <= digests.keys() and {"number", "revision"} <= one.keys()
        sound = sound and body["sequence"] == entry.sequence and all(map(_is_text, digests.values()))
        sound = sound and (kind == CERTIFICATE or "sequence" in one)
    except (ValueError, KeyError, TypeError, AttributeError):
        return
    if sound:
        yield body


def _is_text(value: object) -> bool:
    return isinstance(value, str)


@dataclass(slots=True)
class Files:
    """What is known of the files so far: which an entry named, which may be gone and of which entries.

    `forms` names the PDF of each certificate as it was signed last.
    """

    gone: frozenset[str]
    disposed: frozenset[int]
    named: set[str] = field(default_factory=set)
    forms: dict[tuple[object, ...], str] = field(default_factory=dict)

    @classmethod
    def of(cls, connection: Connection) -> "Files":
        """Return what is known before any entry was looked at."""
        gone = connection.execute(select(REMOVED.c.sha256)).scalars()
        disposed = connection.execute(select(MARKS.c.certificate).where(MARKS.c.kind == DISPOSED)).scalars()
        return cls(frozenset(gone), frozenset(disposed))

    def faults(self, connection: Connection, found: Sequence[Body]) -> Iterator[str]:
        """Yield what is wrong with the files of entries, read in the order in which they were written."""
        for at in range(0, len(found), _ENTRIES):
            some = found[at : at + _ENTRIES]
            before = [self._note_form(body) for body in some]
            digests = {*(d for body in some for d in body["sha256"].values()), *before} - {""}
            data = dict(self._read(connection, digests))
            for body, form in zip(some, before, strict=True):
                yield from (f"entry {body['sequence']}: {fault}" for fault in self._entry(body, form, data))

    def _note_form(self, body: Body) -> str:
        """Note the PDF of a certificate; return what a signed form has to begin with."""
        if body["kind"] == CERTIFICATE:
            one = body["certificate"]
            self.forms[body["sequence"], one["number"], one["revision"]] = body["sha256"][PDF]
            return ""
        one = body["of"]
        place = one["sequence"], one["number"], one["revision"]
        before = self.forms.get(place, "")
        self.forms[place] = body["sha256"][PDF]
        return before

    def _read(self, connection: Connection, digests: Set[str]) -> "Iterator[tuple[str, bytes | None]]":
        """Every file with its bytes, None where they are not what was added."""
        query = select(FILES.c.sha256, FILES.c.form, FILES.c.data).where(FILES.c.sha256.in_(sorted(digests)))
        for digest, form, data in connection.execute(query).all():
            if form == GONE and data == b"" and digest in self.gone:
                continue
            plain = unpacked(form, data)
            sound = digest in self.named or is_whole(digest, plain)
            yield digest, plain if sound and digest not in self.gone else None

    def _entry(self, body: Body, before: str, data: Mapping[str, bytes | None]) -> Iterator[str]:
        of = (
            body["of"] if body["kind"] == SIGNATURE else {**body["certificate"], "sequence": body["sequence"]}
        )
        whose = f"of certificate {of['number']}, revision {of['revision']},"
        files: dict[str, bytes] = {}
        for name, digest in body["sha256"].items():
            found = data.get(digest)
            if found is not None:
                files[name] = found
            elif digest in data:
                yield f"{name} {whose} is not what was added, or not gone (SHA-256 {digest})"
            elif digest not in self.gone or of["sequence"] not in self.disposed:
                yield f"{name} {whose} is missing (SHA-256 {digest})"
            self.named.add(digest)
        if len(files) < len(body["sha256"]):
            return
        if body["kind"] == CERTIFICATE:
            yield from against_pdf(body, files)
        elif not before or not files[PDF].startswith(data.get(before) or b"\0"):
            yield "is not the certificate that was recorded, with a signature"
        else:
            yield from appended(body, files[PDF])


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
    found = connection.exec_driver_sql(f"PRAGMA main.integrity_check({table.name})").scalars().all()
    return [f"the table {table.name} is damaged: {text}" for text in found if text != "ok"]
