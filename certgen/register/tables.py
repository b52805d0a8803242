"""The tables of the database, the rows by which entries are found, and how bytes of files are stored.

`entries` is the register itself, `files` holds what it refers to. The rest repeats what the entries say in a
form that can be searched (`DERIVED`), and is worth nothing where it differs from them.
"""

import zlib
from collections.abc import Iterable, Mapping
from hashlib import sha256
from typing import Any

from sqlalchemy import (
    BigInteger,
    Column,
    Connection,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    insert,
    select,
)

from certgen.errors import RegisterRefused
from certgen.register.entries import (
    CERTIFICATE,
    DISPOSED,
    MARKING,
    RESERVATION,
    SIGNATURE,
    Json,
    certificate_of,
    certificate_row,
    instrument_rows,
    marked,
    reservation_row,
    says_of_another,
    signature_row,
)

METADATA = MetaData()
Rows = dict[str, list[Json]]
PLAIN, PACKED, GONE = "plain", "zlib", "removed"
LARGEST = 200_000_000  # bytes unpacked; what is larger was never a file of a certificate
_PDF = b"%PDF-"  # packed already by itself
LARGEST_PDF = 20_000_000  # bytes, unless more are asked for


def _table(name: str, *columns: Column[int] | Column[str] | Column[bytes]) -> Table:
    return Table(name, METADATA, *columns)


def _texts(*names: str) -> list[Column[str]]:
    return [Column(name, Text) for name in names]


MIGRATIONS = _table("migrations", Column("place", Integer, primary_key=True), *_texts("name"))
# `form` says how the bytes are stored: as they are, packed, or removed because their time of keeping is over
FILES = _table(
    "files", Column("sha256", Text, primary_key=True), Column("data", LargeBinary), *_texts("form")
)
ENTRIES = _table(
    "entries", Column("sequence", BigInteger, primary_key=True), *_texts("previous", "body", "digest")
)
HEAD = _table(
    "head", Column("one", Integer, primary_key=True), Column("count", BigInteger), *_texts("digest")
)
CERTIFICATES = _table(
    "certificates",
    Column("sequence", BigInteger, primary_key=True),
    Column("number", Text),
    Column("revision", BigInteger),
    Column("prefix", Text),
    Column("value", BigInteger),
    *_texts("issued", "started", "finished", "line", "asset", "customer", "as_found", "as_left"),
    *_texts("line_key", "asset_key", "customer_key", "words"),
    *_texts("pdf_sha256", "survey_sha256", "results_sha256"),
)
INSTRUMENTS = _table(
    "instruments",
    Column("sequence", BigInteger, primary_key=True),
    Column("place", Integer, primary_key=True),
    *_texts("kind", "serial", "serial_key", "calibrated", "due", "traceable_to"),
)
RESERVATIONS = _table(
    "reservations",
    Column("sequence", BigInteger, primary_key=True),
    *_texts("number", "prefix"),
    Column("value", BigInteger),
)
SIGNATURES = _table(
    "signatures",
    Column("sequence", BigInteger, primary_key=True),
    Column("certificate", BigInteger),
    *_texts("pdf_sha256"),
)
# certificates that say they replace one of another number, and how they say it
REPLACING = _table("replacing", Column("sequence", BigInteger, primary_key=True), *_texts("said"))
# what later entries say of a certificate: withdrawn, its instrument deviated, its bytes are gone
MARKS = _table(
    "marks",
    Column("sequence", BigInteger, primary_key=True),
    Column("certificate", BigInteger, primary_key=True),
    *_texts("kind"),
)
REMOVED = _table("removed", Column("sha256", Text, primary_key=True), Column("sequence", BigInteger))
DERIVED = (CERTIFICATES, INSTRUMENTS, RESERVATIONS, SIGNATURES, REPLACING, MARKS, REMOVED)
KEPT = (FILES, ENTRIES, *DERIVED)


def rows_of(sequence: int, body: Mapping[str, Any]) -> Rows:
    """Return the rows that follow from an entry, by table; KeyError, TypeError or ValueError for no entry."""
    kind = body["kind"]
    if kind == CERTIFICATE:
        one = certificate_of(body)
        found = {
            "certificates": [certificate_row(sequence, one, body["sha256"])],
            "instruments": instrument_rows(sequence, one),
        }
        if says_of_another(one):
            found["replacing"] = [{"sequence": sequence, "said": one.supersedes}]
        return found
    if kind == RESERVATION:
        return {"reservations": [reservation_row(sequence, body["number"])]}
    if kind == SIGNATURE:
        return {"signatures": [signature_row(body)]}
    if kind not in MARKING:
        raise ValueError(kind)
    found = {
        "marks": [
            {"sequence": sequence, "certificate": one["sequence"], "kind": kind}
            for one in sorted(marked(dict(body)), key=lambda one: int(one["sequence"]))
        ]
    }
    if kind == DISPOSED:
        found["removed"] = [{"sha256": digest, "sequence": sequence} for digest in body["removed"]]
    return found


def put_rows(connection: Connection, found: Iterable[Rows]) -> None:
    """Add the rows of several entries, table by table so that every reference finds what it names."""
    gathered: Rows = {}
    for rows in found:
        for name, each in rows.items():
            gathered.setdefault(name, []).extend(each)
    for table in DERIVED:
        if gathered.get(table.name):
            connection.execute(insert(table), gathered[table.name])


def packed(data: bytes) -> tuple[str, bytes]:
    """Return form and bytes in which a file is stored."""
    if data.startswith(_PDF):
        return PLAIN, data
    smaller = zlib.compress(data)
    return (PACKED, smaller) if len(smaller) < len(data) else (PLAIN, data)


def unpacked(form: object, data: object) -> bytes | None:
    """Return the plain bytes of a file; None where they are gone, or are not what that form has."""
    if not isinstance(data, bytes) or form not in (PLAIN, PACKED):
        return None
    if form == PLAIN:
        return data
    reader = zlib.decompressobj()
    try:
        found = reader.decompress(data, LARGEST)
    except zlib.error:
        return None
    return found if reader.eof and not reader.unused_data else None


def file_row(digest: str, data: bytes) -> dict[str, object]:
    """Return the row of a file."""
    form, stored = packed(data)
    return {"sha256": digest, "data": stored, "form": form}


def keep_file(connection: Connection, digest: str, data: bytes) -> None:
    """Store a file; one that is there already, such as the survey of two certificates, is kept once.

    RegisterRefused where its bytes were disposed of: they would not come back.
    """
    form = connection.execute(select(FILES.c.form).where(FILES.c.sha256 == digest)).scalar()
    if form is None:
        connection.execute(insert(FILES).values(file_row(digest, data)))
    elif form == GONE:
        raise RegisterRefused("a file of it was disposed of, and does not come back; nothing was added.")


def is_whole(digest: str, data: bytes | None) -> bool:
    """Return whether these bytes are those of the digest."""
    return data is not None and sha256(data).hexdigest() == digest


def require_size(size: int, largest: int) -> None:
    """Raise RegisterRefused for a PDF that is larger than a register takes; both in bytes."""
    if size > largest:
        raise RegisterRefused(
            f"the PDF has {size / 1e6:.1f} MB, and the register takes up to {largest / 1e6:g} MB; "
            "nothing was added. Pass --max-size with a larger number of MB if it is to have it."
        )
