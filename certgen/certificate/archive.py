"""A finished canvas as the bytes of a PDF/A-3b file (ISO 19005-3:2012, level B).

The drawing library writes its objects; body, cross-reference table and trailer are written here, because
the standard asks for an end of line after the data of every stream (6.1.7.1), and because the metadata holds
a digest of all that stands before it, so that a changed byte anywhere is found.
"""

from hashlib import sha256
from typing import Any

from reportlab import rl_config
from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFIndirectObject, PDFObject, PDFString

from certgen.certificate.archive_catalog import furnish
from certgen.certificate.archive_record import Record
from certgen.certificate.archive_xmp import xmp

_HEADER = b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"
_STREAM_ENDS = b"endstream\nendobj\n"
rl_config.useA85 = 0  # streams of bytes, a fifth smaller than the same written as letters


class _Information(PDFObject):  # type: ignore[misc]  # reportlab has no types
    """The document information dictionary (ISO 32000-1:2008, 14.3.3); both dates are the day of issue."""

    def __init__(self, record: Record) -> None:
        self._record = record

    def format(self, document: Any) -> bytes:
        record = self._record
        day = PDFString(f"D:{record.day:%Y%m%d}000000Z")
        texts = {
            "Title": record.title,
            "Author": record.author,
            "Subject": record.subject,
            "Keywords": record.keywords,
            "Creator": record.creator,
            "Producer": record.producer,
        }
        values = {name: PDFString(text) for name, text in texts.items()}
        formatted: bytes = PDFDictionary({**values, "CreationDate": day, "ModDate": day}).format(document)
        return formatted


class _Metadata(PDFObject):  # type: ignore[misc]  # reportlab has no types
    """Holds the number of the metadata stream, which is written last."""

    __RefOnly__ = 1


def archived(canvas: Any, record: Record) -> bytes:
    """Return the file; the same canvas and record give the same bytes."""
    document = canvas._doc
    for font in document.delayedFonts:
        font.addObjects(document)
    document.info = _Information(record)
    document.Catalog.Metadata = metadata = _Metadata()
    furnish(document, record)
    root, information = document.Reference(document.Catalog), document.Reference(document.info)
    document.Outlines.prepare(document, canvas)
    number = _number(document, document.Reference(metadata).name)
    body, offsets = _body(document, number)
    packet = xmp(record, sha256(body).hexdigest())
    offsets[number] = len(body)
    body += _stream(number, packet)
    trailer = {"Size": len(offsets) + 1, "Root": root, "Info": information, "ID": _identifiers(body)}
    return bytes(body + _table(offsets, len(body), PDFDictionary(trailer).format(document)))


def _number(document: Any, name: str) -> int:
    number: int = document.idToObjectNumberAndVersion[name][0]
    return number


def _body(document: Any, left_out: int) -> tuple[bytearray, dict[int, int]]:
    """Every object but one, with its place. Formatting an object may append further ones."""
    body, offsets, number = bytearray(_HEADER), {}, 1
    while number in document.numberToId:
        if number != left_out:
            name = document.numberToId[number]
            offsets[number] = len(body)
            body += _ended(PDFIndirectObject(name, document.idToObject[name]).format(document))
        number += 1
    return body, offsets


def _ended(formatted: bytes) -> bytes:
    """The object with an end of line between the data of a stream and what follows."""
    if not formatted.endswith(_STREAM_ENDS):
        return formatted
    return formatted[: -len(_STREAM_ENDS)] + b"\n" + _STREAM_ENDS


def _stream(number: int, packet: bytes) -> bytes:
    """The metadata stream, not compressed, so that any program finds it."""
    head = f"{number} 0 obj\n<< /Type /Metadata /Subtype /XML /Length {len(packet)} >>\nstream\n"
    return head.encode() + packet + b"\n" + _STREAM_ENDS


def _identifiers(body: bytearray) -> str:
    """Both file identifiers (ISO 32000-1:2008, 14.4) from the content itself."""
    identifier = sha256(body).hexdigest()[:32]
    return f"[<{identifier}> <{identifier}>]"


def _table(offsets: dict[int, int], start: int, trailer: bytes) -> bytes:
    """Cross-reference table and trailer (ISO 32000-1:2008, 7.5.4 and 7.5.5)."""
    entries = "".join(f"{offsets[number]:010d} 00000 n \n" for number in sorted(offsets))
    table = f"xref\n0 {len(offsets) + 1}\n0000000000 65535 f \n{entries}trailer\n"
    return table.encode() + trailer + f"\nstartxref\n{start}\n%%EOF\n".encode()
