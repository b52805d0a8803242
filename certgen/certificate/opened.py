"""A PDF that certgen has written, read back from its bytes: metadata, information, attached files."""

import re
from dataclasses import dataclass
from html import unescape
from io import BytesIO

from pypdf import PdfReader
from pypdf.generic import DictionaryObject, StreamObject

from certgen.certificate.raw_file import Revision, Stream, revisions
from certgen.errors import NotVerified

OURS = b"certgen:format"  # the metadata that certgen writes is never compressed
# of the trailer (ISO 32000-1:2008, 7.6.1); it is never encrypted itself
_ENCRYPTED = re.compile(rb"/Encrypt\s*(?:<<|\d+\s+\d+\s+R)")
_SAVE_PLAIN = (
    "this PDF is encrypted, so that it cannot be told what it is. certgen encrypts none: take the file as it "
    "was issued, or save it without any password, that of the owner too."
)
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
class Opened:
    """A document taken apart. `base` are the bytes as written, `data` those with all that was appended."""

    data: bytes
    base: bytes
    reader: PdfReader
    packet: bytes
    packet_at: int
    raw: tuple[Revision, ...]

    @property
    def appended(self) -> bytes:
        """What follows the document as written: nothing, or a signature."""
        return self.data[len(self.base) :]

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

    def files(self) -> dict[str, bytes]:
        """Return by name every file that is attached."""
        return self.raw[0].files()

    def unlisted(self) -> int:
        """Return how many further files are embedded, which no list of attached files names."""
        every = sum(
            isinstance(one, Stream) and one.keys.get("Type") == "EmbeddedFile"
            for revision in self.raw
            for one in revision.objects.values()
        )
        return int(every) - len(self.files())


def opened(data: bytes) -> Opened:
    """Return the document in these bytes; NotVerified where they cannot be read as one with metadata."""
    if not data.startswith(b"%PDF-") or b"%%EOF" not in data:
        raise NotVerified("this is not a PDF file, or it is cut off.")
    if OURS not in data and _ENCRYPTED.search(data):
        raise NotVerified(_SAVE_PLAIN)
    if OURS not in data:
        raise NotVerified("this PDF was not written by certgen: no metadata in it names one of its formats.")
    raw = revisions(data)
    raw[0].pages()  # which it has to have before another reader goes through them
    try:
        return _taken_apart(data, raw)
    except Exception as error:  # a changed byte may break the reader anywhere, and all of it means the same
        raise unreadable(error) from None


def unreadable(error: Exception) -> NotVerified:
    """Return the error to raise where reading fails anywhere."""
    return NotVerified(f"the file cannot be read: {type(error).__name__}: {error}.")


def _taken_apart(data: bytes, raw: tuple[Revision, ...]) -> Opened:
    base = data[: raw[0].end]
    reader = PdfReader(BytesIO(base))
    root = reader.trailer["/Root"].get_object()
    assert isinstance(root, DictionaryObject)  # noqa: S101  # else no PDF
    number = root.raw_get("/Metadata").idnum
    packet = root["/Metadata"].get_object()
    assert isinstance(packet, StreamObject)  # noqa: S101  # else no PDF/A
    return Opened(data, base, reader, packet.get_data(), reader.xref[0][number], raw)


def _plain(text: str) -> str:
    """A date as the metadata writes it; any other text as it is."""
    day = re.fullmatch(r"D:(\d{4})(\d\d)(\d\d)000000Z", text)
    return f"{day[1]}-{day[2]}-{day[3]}T00:00:00Z" if day else text
