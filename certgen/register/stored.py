"""How the bytes of a file are stored: texts packed, pages as they are; digests are of the plain bytes."""

import zlib
from hashlib import sha256

from sqlalchemy import Connection, insert, select

from certgen.errors import RegisterRefused
from certgen.register.tables import FILES

PLAIN, PACKED, GONE = "plain", "zlib", "removed"
LARGEST = 200_000_000  # bytes unpacked; what is larger was never a file of a certificate
_PDF = b"%PDF-"  # packed already by itself


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
