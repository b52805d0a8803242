"""What a certificate carries, read by the very form in which certgen writes it: a hundred times as fast.

Nothing is guessed: where anything on the way from the end of the file to the attached files is written
otherwise, there is no answer, and `carried` reads the file as any PDF. Both find the same.
"""

import re
import zlib
from dataclasses import dataclass

_END = re.compile(rb"startxref\s+(\d+)\s+%%EOF\r?\n?")
_TABLE = re.compile(rb"xref\n0 (\d{1,7})\n0000000000 65535 f \n")
_TRAILER = re.compile(rb"trailer << /ID \[<\w{32}> <\w{32}>\] /Info \d+ 0 R /Root (\d+) 0 R /Size \d+ >> ")
_IN_USE = b" 00000 n \n"  # how an entry ends
_WIDTH = 20  # bytes of an entry, of which the first ten are the place
_LONGEST = 4000  # bytes of an object that leads to an attached file
_LARGEST = 50_000_000  # bytes of an attached file
# objects as written, all white space between their parts one blank; no name in them is spelled with #
_CATALOG = re.compile(
    rb"<< /AF \[ (?:\d+ 0 R )+\] /Lang \([\w-]*\) /Metadata \d+ 0 R /Names (\d+) 0 R /(?:(?!/Names|[#%]).)*>>"
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
        return name.decode(), self._embedded(int(found[1]))

    def _embedded(self, number: int) -> bytes:
        at = self._at(number)
        begins = self._base.index(b"\nstream\n", at, at + _LONGEST)
        length = int(_require(_EMBEDDED.fullmatch(_one_blank(self._base[at:begins])))[1])
        packed = self._base[begins + 8 : begins + 8 + length]
        if not self._base.startswith((b"\nendstream\n", b"endstream\n"), begins + 8 + length):
            raise _OtherwiseError
        reader = zlib.decompressobj()
        data = reader.decompress(packed, _LARGEST)
        if not reader.eof or reader.unused_data:
            raise _OtherwiseError
        return data

    def _plain(self, number: int) -> bytes:
        """The object without its frame, all white space in it one blank."""
        at = self._at(number)
        return _one_blank(self._base[at : self._base.index(b"\nendobj\n", at, at + _LONGEST)])

    def _at(self, number: int) -> int:
        """Where the content of an object begins."""
        if not 0 < number < self._count:
            raise _OtherwiseError
        begins = self._first + _WIDTH * (number - 1)
        entry, head = self._base[begins : begins + _WIDTH], b"%d 0 obj\n" % number
        place = entry[:10]
        if entry[10:] != _IN_USE or not place.isdigit() or not self._base.startswith(head, int(place)):
            raise _OtherwiseError
        return int(place) + len(head)


def _require(found: "re.Match[bytes] | None") -> "re.Match[bytes]":
    if found is None:
        raise _OtherwiseError
    return found


def _one_blank(text: bytes) -> bytes:
    return b" ".join(text.split())
