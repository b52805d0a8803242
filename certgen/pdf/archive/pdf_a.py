"""A finished canvas as the bytes of a PDF/A-3a file (ISO 19005-3:2012, level A) that is PDF/UA-1 as well.

ICC.1:2004-10 (profile version 4.2) lays out the file; IEC 61966-2-1 gives curve, primaries and white point.
The primaries stand adapted to the D50 of the profile connection space by the Bradford matrix, the `chad` tag.

The drawing library writes its objects; body, cross-reference table and trailer are written here, because
the standard asks for an end of line after the data of every stream (6.1.7.1), and because the metadata holds
a digest of all that stands before it, so that a changed byte anywhere is found.
"""

import re
import struct
from functools import cache
from hashlib import md5, sha256
from typing import Any
from zlib import compress

from reportlab import rl_config
from reportlab.pdfbase.pdfdoc import (
    PDFArray,
    PDFDictionary,
    PDFIndirectObject,
    PDFName,
    PDFObject,
    PDFStream,
    PDFStreamFilterZCompress,
    PDFString,
)

from certgen.pdf.archive.metadata import Attachment, Record, xmp
from certgen.pdf.archive.object_streams import SMALLEST, Place, packed, table
from certgen.pdf.archive.tags import Numbers, objects

NAME = "sRGB IEC61966-2.1"

_D50 = (0.9642, 1.0, 0.8249)
_COLUMNS = {
    b"rXYZ": (0.43607, 0.22249, 0.01392),
    b"gXYZ": (0.38515, 0.71687, 0.09708),
    b"bXYZ": (0.14307, 0.06061, 0.71410),
}
_BRADFORD = (1.04788, 0.02292, -0.05022, 0.02959, 0.99048, -0.01707, -0.00925, 0.01508, 0.75168)
_CURVE = (2.4, 1.0 / 1.055, 0.055 / 1.055, 1.0 / 12.92, 0.04045)  # exponent, a, b, c, d of function type 3
_ICC_HEADER = 128
_KEYS = ("AF", "OutputIntents")  # of ISO 19005-3:2012, 6.8 and ISO 32000-1:2008, 14.11.5
_PAGE_KEYS = ("StructParents", "Tabs")  # of ISO 32000-1:2008, 14.7.4.4 and ISO 14289-1:2014, 7.18.3
_HEADER = b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"
# what leads to the attached files is not packed: a program that reads thousands of files finds them at once
LEADS = re.compile(rb"/Type /Catalog\b|/EmbeddedFiles\b|/Type /Filespec\b")
_STREAM_ENDS = b"endstream\nendobj\n"
rl_config.useA85 = 0  # streams of bytes, a fifth smaller than the same written as letters


class _Flate(PDFStreamFilterZCompress):  # type: ignore[misc]  # reportlab has no types
    """Compresses as far as can be."""

    def encode(self, text: bytes | str) -> bytes:
        """Return the text compressed."""
        return compress(text if isinstance(text, bytes) else text.encode("latin-1"), SMALLEST)


@cache
def srgb_profile() -> bytes:
    """Return the profile; its date is that of the edition of the standard, so the bytes never change."""
    parts = _tags()
    at = _ICC_HEADER + 4 + 12 * len(parts)
    table, body = struct.pack(">I", len(parts)), b""
    for name, data in parts.items():
        table += name + struct.pack(">II", at + len(body), len(data))
        body += data
    return _header(at + len(body)) + table + body


def _tags() -> dict[bytes, bytes]:
    curve = b"para" + bytes(4) + struct.pack(">HH", 3, 0) + _fixed(_CURVE)
    return {
        b"desc": _text(NAME),
        b"cprt": _text("Public domain"),
        b"wtpt": b"XYZ " + bytes(4) + _fixed(_D50),
        b"chad": b"sf32" + bytes(4) + _fixed(_BRADFORD),
        **{name: b"XYZ " + bytes(4) + _fixed(value) for name, value in _COLUMNS.items()},
        **dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), curve),
    }


def _header(size: int) -> bytes:
    made = struct.pack(">6H", 2004, 10, 1, 0, 0, 0)
    return b"".join(
        (
            struct.pack(">I", size) + bytes(4) + b"\x04\x20\x00\x00mntrRGB XYZ ",
            made + b"acsp" + bytes(4 + 4 + 4 + 4 + 8),
            struct.pack(">I", 0) + _fixed(_D50) + bytes(4 + 16 + 28),
        )
    )


def _fixed(values: tuple[float, ...]) -> bytes:
    """Numbers with sixteen bits after the point (s15Fixed16Number)."""
    return b"".join(struct.pack(">i", round(value * 65536.0)) for value in values)


def _text(text: str) -> bytes:
    """Text in one language (multiLocalizedUnicodeType), filled to a multiple of four bytes."""
    letters = text.encode("utf-16-be")
    data = b"mluc" + bytes(4) + struct.pack(">II2s2sII", 1, 12, b"en", b"US", len(letters), 28) + letters
    return data + bytes(-len(data) % 4)


def furnish(document: Any, record: Record) -> None:
    """Set the entries of the catalog."""
    catalog = document.Catalog
    catalog.__NoDefault__ = [*catalog.__NoDefault__, *_KEYS]  # the library's own list knows no others
    files = {one.name: document.Reference(_file(document, one, record)) for one in record.attachments}
    catalog.AF = PDFArray(list(files.values()))
    pairs = [item for name in sorted(files) for item in (PDFString(name), files[name])]
    catalog.Names = PDFDictionary({"EmbeddedFiles": PDFDictionary({"Names": PDFArray(pairs)})})
    catalog.OutputIntents = PDFArray([_output_intent(document)])
    catalog.ViewerPreferences = PDFDictionary({"DisplayDocTitle": "true"})
    catalog.Lang = PDFString(record.language)
    catalog.MarkInfo = PDFDictionary({"Marked": "true"})
    catalog.__Refs__ = [key for key in catalog.__Refs__ if key != "MarkInfo"]
    for index, page in enumerate(document.Pages.pages):
        page.__NoDefault__ = [*page.__NoDefault__, *_PAGE_KEYS]
        page.StructParents, page.Tabs = index, PDFName("S")
        page.Contents = PDFStream(PDFDictionary({}), page.stream, [_Flate()])


def _file(document: Any, attachment: Attachment, record: Record) -> PDFDictionary:
    """A file specification (ISO 32000-1:2008, 7.11.3) with all that ISO 19005-3:2012, 6.8 asks for."""
    stream = document.Reference(_embedded(attachment, record))
    return PDFDictionary(
        {
            "Type": PDFName("Filespec"),
            "F": PDFString(attachment.name),
            "UF": PDFString(attachment.name),
            "Desc": PDFString(attachment.description),
            "AFRelationship": PDFName(attachment.relationship),
            "EF": PDFDictionary({"F": stream, "UF": stream}),
        }
    )


def _embedded(attachment: Attachment, record: Record) -> PDFStream:
    """The stream of the file (ISO 32000-1:2008, 7.11.4); the check sum is the one that the standard names."""
    day = PDFString(f"D:{record.day:%Y%m%d}000000Z")
    parameters = PDFDictionary(
        {
            "Size": len(attachment.data),
            "CreationDate": day,
            "ModDate": day,
            "CheckSum": f"<{md5(attachment.data, usedforsecurity=False).hexdigest()}>",
        }
    )
    kind = "/" + attachment.media_type.replace("/", "#2F")
    entries = {"Type": PDFName("EmbeddedFile"), "Subtype": kind, "Params": parameters}
    return PDFStream(PDFDictionary(entries), attachment.data, [_Flate()])


def _output_intent(document: Any) -> PDFDictionary:
    profile = PDFStream(PDFDictionary({"N": 3}), srgb_profile(), [_Flate()])
    return PDFDictionary(
        {
            "Type": PDFName("OutputIntent"),
            "S": PDFName("GTS_PDFA1"),
            "OutputConditionIdentifier": PDFString(NAME),
            "Info": PDFString(NAME),
            "DestOutputProfile": document.Reference(profile),
        }
    )


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


class _Written(PDFObject):  # type: ignore[misc]  # reportlab has no types
    """Holds the number of an object that is written here and not by the drawing library."""

    __RefOnly__ = 1


def archived(canvas: Any, record: Record) -> bytes:
    """Return the file; the same canvas and record give the same bytes."""
    document = canvas._doc
    for font in document.delayedFonts:
        font.addObjects(document)
    document.info = _Information(record)
    document.Catalog.Metadata = metadata = _Written()
    document.Catalog.StructTreeRoot = tree = _Written()
    furnish(document, record)
    root, information = document.Reference(document.Catalog), document.Reference(document.info)
    document.Outlines.prepare(document, canvas)
    number, first = (_number(document, document.Reference(one).name) for one in (metadata, tree))
    body, places, small = _body(document, {number, first})
    pages = [_number(document, document.Reference(page).name) for page in document.Pages.pages]
    numbers = Numbers(len(places) + len(small) + 3)
    small += objects(canvas.structure, first, pages, numbers, document)
    for one, text, held in packed(sorted(small), numbers.next):
        places[one] = len(body)
        places.update({number: (one, index) for index, number in enumerate(held)})
        body += text
    packet = xmp(record, sha256(body).hexdigest())
    places[number] = len(body)
    # the metadata stream, not compressed, so that any program finds it
    head = f"{number} 0 obj\n<< /Type /Metadata /Subtype /XML /Length {len(packet)} >>\nstream\n"
    body += head.encode() + packet + b"\n" + _STREAM_ENDS
    ends = (f"/{key} {one.format(document).decode()}" for key, one in (("Root", root), ("Info", information)))
    trailer = f"{' '.join(ends)} /ID {_identifiers(body)}"
    return bytes(body + table(places, len(body), trailer.encode()))


def _number(document: Any, name: str) -> int:
    number: int = document.idToObjectNumberAndVersion[name][0]
    return number


def _body(document: Any, left_out: set[int]) -> tuple[bytearray, dict[int, Place], list[tuple[int, bytes]]]:
    """Streams and what leads to attached files, with places; all other objects but some, to be packed.

    Formatting an object may append further ones.
    """
    body, places, number = bytearray(_HEADER), dict[int, Place](), 1
    small: list[tuple[int, bytes]] = []
    while number in document.numberToId:
        if number not in left_out:
            name = document.numberToId[number]
            text = PDFIndirectObject(name, document.idToObject[name]).format(document)
            stream = text.endswith(_STREAM_ENDS)
            if stream or LEADS.search(text):
                places[number] = len(body)
                # an end of line between the data of a stream and what follows
                body += text[: -len(_STREAM_ENDS)] + b"\n" + _STREAM_ENDS if stream else text
            else:
                small.append((number, text[text.index(b" obj\n") + 5 : text.rindex(b"\nendobj")]))
        number += 1
    return body, places, small


def _identifiers(body: bytearray) -> str:
    """Both file identifiers (ISO 32000-1:2008, 14.4) from the content itself."""
    identifier = sha256(body).hexdigest()[:32]
    return f"[<{identifier}> <{identifier}>]"
