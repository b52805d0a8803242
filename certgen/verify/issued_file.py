"""What an issued certificate carries, or a report beside it, read back from its bytes.

One that is written as certgen writes it is read by that very form, a hundred times as fast as any PDF.

Nothing is guessed: where anything on the way from the end of the file to the attached files is written
otherwise, there is no answer, and `carried` reads the file as any PDF. Both find the same.
"""

import json
import re
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from html import unescape
from io import BytesIO

from pypdf import PdfReader
from pypdf.generic import DictionaryObject, StreamObject

from certgen.errors import NotVerified
from certgen.pdf.archive.metadata import DCC, FORMAT, REPORT, RESULTS, SURVEY, Kind
from certgen.results.survey_results import Json
from certgen.survey.source import LARGEST_BYTES
from certgen.verify.pdf_bytes import revisions
from certgen.verify.pdf_objects import Revision, Stream

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
_CALLED: Mapping[Kind, str] = {
    "study": "a reference study",
    "comparison": "a comparison of surveys",
    "trend": "a trend over several visits",
    "work sheet": "a work sheet for the moves",
}
_LARGEST = {SURVEY: LARGEST_BYTES, RESULTS: 16_000_000, DCC: 16_000_000}
# the names under which a report carries its files; no other one is ever written to a disk
_NAME = re.compile(r"results\.json|dcc\.xml|survey(-[1-9][0-9]{0,3})?\.yaml")
_END = re.compile(rb"startxref\s+(\d+)\s+%%EOF\r?\n?")
_TABLE = re.compile(rb"xref\n0 (\d{1,7})\n0000000000 65535 f \n")
_TRAILER = re.compile(rb"trailer << /ID \[<\w{32}> <\w{32}>\] /Info \d+ 0 R /Root (\d+) 0 R /Size \d+ >> ")
_STREAM_TABLE = re.compile(
    rb"(\d{1,7}) 0 obj\n<< /Type /XRef /Size (\d{1,7}) /W \[1 4 2\] "
    rb"/DecodeParms << /Predictor 12 /Columns 7 >> /Root (\d+) 0 R /Info \d+ 0 R "
    rb"/ID \[<\w{32}> <\w{32}>\] /Filter /FlateDecode /Length (\d{1,8}) >>\nstream\n"
)
_IN_USE = b" 00000 n \n"  # how an entry ends
_WIDTH = 20  # bytes of an entry, of which the first ten are the place
_ROW = 8  # bytes of an entry in a stream, the first names its filter
_MOST_ROWS = 8_000_000  # bytes
_LONGEST = 4000  # bytes of an object that leads to an attached file
_LARGEST_ATTACHED = 50_000_000  # bytes of an attached file
# objects as written, all white space between their parts one blank; no name in them is spelled with #
_CATALOG = re.compile(
    rb"<< /AF \[ (?:\d+ 0 R )+\] /Lang \([\w-]*\) (?:/MarkInfo << /Marked true >> )?/Metadata \d+ 0 R "
    rb"/Names (\d+) 0 R /(?:(?!/Names|[#%]).)*>>"
)
_NAMES = re.compile(rb"<< /EmbeddedFiles << /Names \[ (.*) \] >> >>")
_PAIR = re.compile(rb"\(([\w.-]+)\) (\d+) 0 R(?: |$)")
_FILE = re.compile(
    rb"<< /AFRelationship /\w+ /Desc \([^()\\#%]*\) /EF << /F (\d+) 0 R /UF \1 0 R >> "
    rb"/F \(([\w.-]+)\) /Type /Filespec /UF \(\2\) >>"
)
_EMBEDDED = re.compile(
    rb"<< /Filter \[ /FlateDecode \] /Length (\d+) /Params << /CheckSum <\w+> /CreationDate \(D:\w+\) "
    rb"/ModDate \(D:\w+\) /Size \d+ >> /Subtype /\w+#2F\w+ /Type /EmbeddedFile >>"
)


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
        base = data[: raw[0].end]
        reader = PdfReader(BytesIO(base))
        root = reader.trailer["/Root"].get_object()
        assert isinstance(root, DictionaryObject)  # noqa: S101  # else no PDF
        number = root.raw_get("/Metadata").idnum
        packet = root["/Metadata"].get_object()
        assert isinstance(packet, StreamObject)  # noqa: S101  # else no PDF/A
        return Opened(data, base, reader, packet.get_data(), raw[0].places[number], raw)
    except Exception as error:  # a changed byte may break the reader anywhere, and all of it means the same
        raise unreadable(error) from None


def unreadable(error: Exception) -> NotVerified:
    """Return the error to raise where reading fails anywhere."""
    return NotVerified(f"the file cannot be read: {type(error).__name__}: {error}.")


def _plain(text: str) -> str:
    """A date as the metadata writes it; any other text as it is."""
    day = re.fullmatch(r"D:(\d{4})(\d\d)(\d\d)000000Z", text)
    return f"{day[1]}-{day[2]}-{day[3]}T00:00:00Z" if day else text


@dataclass(frozen=True, slots=True)
class Carried(Opened):
    """A certificate taken apart, with the survey and the results inside it."""

    survey: bytes
    results: bytes

    def found(self) -> Json | None:
        """Return the results as data, None where they are no JSON of that kind."""
        try:
            found = json.loads(self.results)
        except (ValueError, RecursionError):
            return None
        return found if isinstance(found, dict) else None


def carried(data: bytes) -> Carried:
    """Return what a certificate carries; NotVerified where the bytes are no certificate of certgen."""
    found = opened(data)
    if _is(found, REPORT.format):
        raise NotVerified(
            f"this is {_called(found)}, not a certificate, and certgen verify is for certificates. "
            "Take out its surveys and results with certgen extract."
        )
    if not _is(found, FORMAT):
        raise NotVerified("this is not a certificate of certgen: its metadata names no such format.")
    files = _files(found)
    try:
        survey, results = files[SURVEY], files[RESULTS]
    except KeyError as error:
        raise unreadable(error) from None
    return Carried(data, found.base, found.reader, found.packet, found.packet_at, found.raw, survey, results)


def files_inside(data: bytes) -> tuple[dict[str, bytes], tuple[str, ...]]:
    """Return by name the files that a certificate or a report carries, and in words what else is embedded.

    NotVerified where the bytes are neither.
    """
    found = opened(data)
    if not _is(found, REPORT.format):
        certificate = carried(data)
        found_as = {SURVEY: certificate.survey, RESULTS: certificate.results}
        if (form := certificate.files().get(DCC)) is not None:
            found_as[DCC] = form
        return found_as, tuple(_others(certificate))
    files = _files(found)
    foreign = [name for name in files if not _NAME.fullmatch(name)]
    if foreign or RESULTS not in files:
        raise NotVerified("the files inside are not those of a report of certgen.")
    return files, tuple(_others(found))


def _others(found: Opened) -> Iterator[str]:
    """Files that certgen attaches to nothing: they may say anything."""
    for name, data in found.files().items():
        if not _NAME.fullmatch(name):
            yield f"{name}, {len(data)} bytes, which certgen attaches to no such file"
    if found.unlisted() > 0:
        yield f"{found.unlisted()} embedded files that no list of attachments names"


def _is(found: Opened, form: str) -> bool:
    """Whether the metadata names this form, in any of its versions."""
    return found.metadata("certgen:format").partition("/")[0] == form.partition("/")[0]


def _called(found: Opened) -> str:
    """What a report is; what its metadata says is not repeated unseen."""
    kind = found.metadata("certgen:kind")
    return next((text for name, text in _CALLED.items() if name == kind), "a report")


def _files(found: Opened) -> dict[str, bytes]:
    files = found.files()
    for name, most in _LARGEST.items():
        if len(files.get(name, b"")) > most:
            raise NotVerified(
                f"{name} inside is larger than any that certgen attaches ({most // 1_000_000} MB)."
            )
    return files


@dataclass(frozen=True, slots=True)
class Written:
    """The attached files by name, and how many bytes the certificate had as it was issued."""

    files: dict[str, bytes]
    length: int


class _OtherwiseError(Exception):
    """It is not written in that form."""


def written(data: bytes) -> Written | None:
    """Return what a certificate in these bytes carries; None where it is not written as certgen writes it."""
    end = _END.search(data)
    if end is None or not data.startswith(b"%PDF-"):
        return None
    try:
        reader = _Reader(data[: end.end()], int(end[1]))
        return Written(dict(reader.files()), end.end())
    except (_OtherwiseError, zlib.error, ValueError):
        return None


class _Reader:
    """Objects by the table at the end of the file."""

    def __init__(self, base: bytes, start: int) -> None:
        self._base = base
        self._rows = b""
        if packed := _STREAM_TABLE.match(base, start):
            self._count, self._root = int(packed[2]), int(packed[3])
            reader = zlib.decompressobj()
            self._rows = reader.decompress(base[packed.end() : packed.end() + int(packed[4])], _MOST_ROWS)
            if not reader.eof or len(self._rows) != _ROW * self._count:
                raise _OtherwiseError
            return
        table = _require(_TABLE.match(base, start))
        self._count, self._first = int(table[1]), table.end()
        after = self._first + _WIDTH * (self._count - 1)
        trailer = _require(_TRAILER.match(_one_blank(base[after:])))
        self._root = int(trailer[1])

    def files(self) -> "list[tuple[str, bytes]]":
        """Return name and bytes of every attached file."""
        names = int(_require(_CATALOG.fullmatch(self._plain(self._root)))[1])
        listed = _require(_NAMES.fullmatch(self._plain(names)))[1]
        pairs = _PAIR.findall(listed)
        if b" ".join(b"(%s) %s 0 R" % pair for pair in pairs) != listed:
            raise _OtherwiseError
        return [self._file(name, int(number)) for name, number in pairs]

    def _file(self, name: bytes, number: int) -> tuple[str, bytes]:
        found = _require(_FILE.fullmatch(self._plain(number)))
        if found[2] != name:
            raise _OtherwiseError
        at = self._at(int(found[1]))
        begins = self._base.index(b"\nstream\n", at, at + _LONGEST)
        length = int(_require(_EMBEDDED.fullmatch(_one_blank(self._base[at:begins])))[1])
        packed = self._base[begins + 8 : begins + 8 + length]
        if not self._base.startswith((b"\nendstream\n", b"endstream\n"), begins + 8 + length):
            raise _OtherwiseError
        reader = zlib.decompressobj()
        data = reader.decompress(packed, _LARGEST_ATTACHED)
        if not reader.eof or reader.unused_data:
            raise _OtherwiseError
        return name.decode(), data

    def _plain(self, number: int) -> bytes:
        """The object without its frame, all white space in it one blank."""
        at = self._at(number)
        return _one_blank(self._base[at : self._base.index(b"\nendobj\n", at, at + _LONGEST)])

    def _at(self, number: int) -> int:
        """Where the content of an object begins."""
        if not 0 < number < self._count:
            raise _OtherwiseError
        place, head = self._place(number), b"%d 0 obj\n" % number
        if not self._base.startswith(head, place):
            raise _OtherwiseError
        return place + len(head)

    def _place(self, number: int) -> int:
        if self._rows:  # each as its difference to the row above: a column adds up to what it holds
            upto = _ROW * (number + 1)
            kind, *place, _, _ = (sum(self._rows[column:upto:_ROW]) & 255 for column in range(1, _ROW))
            if kind != 1:
                raise _OtherwiseError
            return int.from_bytes(bytes(place), "big")
        begins = self._first + _WIDTH * (number - 1)
        entry = self._base[begins : begins + _WIDTH]
        if entry[10:] != _IN_USE or not entry[:10].isdigit():
            raise _OtherwiseError
        return int(entry[:10])


def _require(found: "re.Match[bytes] | None") -> "re.Match[bytes]":
    if found is None:
        raise _OtherwiseError
    return found


def _one_blank(text: bytes) -> bytes:
    return b" ".join(text.split())
