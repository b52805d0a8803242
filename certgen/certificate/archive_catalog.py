"""What the catalog of an archived document leads to: attached files, colour space, how it opens."""

from hashlib import md5
from typing import Any

from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFStream, PDFString, PDFZCompress

from certgen.certificate.archive_colour import NAME, srgb_profile
from certgen.certificate.archive_record import Attachment, Record

_KEYS = ("AF", "OutputIntents")  # of ISO 19005-3:2012, 6.8 and ISO 32000-1:2008, 14.11.5


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
    return PDFStream(PDFDictionary(entries), attachment.data, [PDFZCompress])


def _output_intent(document: Any) -> PDFDictionary:
    profile = PDFStream(PDFDictionary({"N": 3}), srgb_profile(), [PDFZCompress])
    return PDFDictionary(
        {
            "Type": PDFName("OutputIntent"),
            "S": PDFName("GTS_PDFA1"),
            "OutputConditionIdentifier": PDFString(NAME),
            "Info": PDFString(NAME),
            "DestOutputProfile": document.Reference(profile),
        }
    )
