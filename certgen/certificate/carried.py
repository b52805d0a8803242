"""What an issued certificate carries, read back from its bytes: survey, results, metadata."""

import json
import re
from dataclasses import dataclass
from html import unescape
from io import BytesIO

from pypdf import PdfReader
from pypdf.generic import DictionaryObject, StreamObject

from certgen.assessment.results import Json
from certgen.certificate.archive_record import FORMAT, RESULTS, SURVEY
from certgen.errors import NotVerified

_END = re.compile(rb"startxref\s+\d+\s+%%EOF\r?\n?")
# property of the metadata -> key of the document information; the innermost text is the value
_SAME = {
    "dc:title": "/Title",
    "dc:creator": "/Author",
    "dc:description": "/Subject",
    "pdf:Keywords": "/Keywords",
    "pdf:Producer": "/Producer",
    "xmp:CreatorTool": "/Creator",
    "xmp:CreateDate": "/CreationDate",
    "xmp:ModifyDate": "/ModDate",
}


@dataclass(frozen=True, slots=True)
class Carried:
    """A certificate taken apart. `base` are the bytes as issued, `data` those with all that was appended."""

    data: bytes
    base: bytes
    reader: PdfReader
    survey: bytes
    results: bytes
    packet: bytes
    packet_at: int

    @property
    def appended(self) -> bytes:
        """What follows the certificate as issued: nothing, or a signature."""
        return self.data[len(self.base) :]

    def found(self) -> Json | None:
        """Return the results as data, None where they are no JSON of that kind."""
        try:
            found = json.loads(self.results)
        except ValueError:
            return None
        return found if isinstance(found, dict) else None

    def metadata(self, name: str) -> str:
        """Return a property of the metadata, empty where there is none."""
        text = self.packet.decode("utf-8", "replace")
        found = re.search(rf"<{name}>(?:<[^/][^>]*>)*([^<]*)<", text)
        return unescape(found[1]) if found else ""

    def information(self) -> dict[str, tuple[str, str]]:
        """Return property by property what the metadata and what the document information say."""
        info = self.reader.trailer["/Info"].get_object()
        assert isinstance(info, DictionaryObject)  # noqa: S101  # else the file is no PDF, which says the caller
        return {name: (self.metadata(name), _plain(str(info[key]))) for name, key in _SAME.items()}


def carried(data: bytes) -> Carried:
    """Return what a certificate carries; NotVerified where the bytes are no certificate of certgen."""
    end = _END.search(data)
    if not data.startswith(b"%PDF-") or end is None:
        raise NotVerified("this is not a PDF file, or it is cut off.")
    try:
        found = _taken_apart(data, data[: end.end()])
    except Exception as error:  # a changed byte may break the reader anywhere, and all of it means the same
        raise NotVerified(f"the file cannot be read: {type(error).__name__}: {error}.") from None
    if not found.metadata("certgen:format").startswith(FORMAT.partition("/")[0]):
        raise NotVerified("this is not a certificate of certgen: its metadata names no such format.")
    return found


def _taken_apart(data: bytes, base: bytes) -> Carried:
    reader = PdfReader(BytesIO(base))
    root = reader.trailer["/Root"].get_object()
    assert isinstance(root, DictionaryObject)  # noqa: S101  # else no PDF
    number = root.raw_get("/Metadata").idnum
    packet = root["/Metadata"].get_object()
    assert isinstance(packet, StreamObject)  # noqa: S101  # else no PDF/A
    files = dict(_attached(root))
    place = reader.xref[0][number]
    return Carried(data, base, reader, files[SURVEY], files[RESULTS], packet.get_data(), place)


def _attached(root: DictionaryObject) -> list[tuple[str, bytes]]:
    """Name and bytes of every embedded file, by the names tree (ISO 32000-1:2008, 7.11.4)."""
    names = root["/Names"]["/EmbeddedFiles"]["/Names"]  # type: ignore[index]  # whatever fails is caught above
    pairs = zip(names[::2], names[1::2], strict=True)
    return [(str(name), item.get_object()["/EF"]["/F"].get_object().get_data()) for name, item in pairs]


def _plain(text: str) -> str:
    """A date as the metadata writes it; any other text as it is."""
    day = re.fullmatch(r"D:(\d{4})(\d\d)(\d\d)000000Z", text)
    return f"{day[1]}-{day[2]}-{day[3]}T00:00:00Z" if day else text
