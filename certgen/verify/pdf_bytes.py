"""The bytes of a PDF as certgen writes it, taken apart strictly and within bounds, before a library does.

Read are: the header, one object after the other without a gap, one table, one trailer, and after that updates
made likewise (ISO 32000-1:2008, 7.5); the table may be a stream, and the file as issued may hold objects
packed into streams. What certgen never writes is refused here: other filters than Flate, a key that stands
twice, streams that say another length than they have, comments. So a small file that unfolds to gigabytes, or
is nested without end, is refused before anything is done with it.
"""

import re
import zlib
from typing import Any

from certgen.errors import NotVerified
from certgen.verify.cross_reference import TABLE_KEYS, Table
from certgen.verify.pdf_objects import MOST_OBJECTS, Name, Reference, Revision, Stream

HEADER = b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"
MOST_SYNTAX = 12_000_000  # bytes that are no data of streams
MOST_TOKENS = 2_000_000
MOST_INFLATED = 64_000_000
MOST_IN_ONE = 24_000_000
MOST_UPDATES = 20
DEEPEST = 12

_SPACE = rb"[\x00\t\n\x0c\r ]"
_THEN = rb"(?=[\x00\t\n\x0c\r \[\]<>/(]|$)"  # what may follow a word
_TOKEN = re.compile(
    _SPACE + rb"*+(?:(?P<open><<|\[)|(?P<close>>>|\])"
    rb"|/(?P<name>[!-$&'*-.0-;=?-Z\\^-z|~]{0,127})" + _THEN + rb"|\((?P<text>(?:[^()\\]++|\\.)*+)\)"
    rb"|<(?P<hex>[0-9A-Fa-f]*+)>"
    rb"|(?P<reference>[0-9]{1,7})"
    + _SPACE
    + rb"+0"
    + _SPACE
    + rb"+R"
    + _THEN
    + rb"|(?P<number>[+-]?(?:[0-9]{1,15}(?:\.[0-9]{0,15})?|\.[0-9]{1,15}))"
    + _THEN
    + rb"|(?P<word>true|false|null)"
    + _THEN
    + rb")",
    re.DOTALL,
)
_NEWLINE = re.compile(rb"\n")
_BEGINS = re.compile(rb"(?P<number>[0-9]{1,7}) 0 obj" + _SPACE)
_STREAM = re.compile(_SPACE + rb"*stream\r?\n")
_STREAM_ENDS = re.compile(rb"\r?\n?endstream" + _SPACE + rb"+endobj\r?\n")
_ENDS = re.compile(_SPACE + rb"*endobj\r?\n")
_XREF = re.compile(rb"xref\r?\n")
_ENTRY = re.compile(rb"([0-9]{10}) (?:[0-9]{5} (f)|00000 (n))(?: \r| \n|\r\n)")
_SECTION = re.compile(rb"(?P<first>[0-9]{1,7}) (?P<count>[0-9]{1,7}) ?\r?\n")
_TRAILER = re.compile(rb"trailer" + _SPACE)
_LAST = re.compile(_SPACE + rb"*startxref\r?\n(?P<table>[0-9]{1,9})\r?\n%%EOF\r?\n?")
_TRAILER_KEYS = {"ID", "Info", "Root", "Size", "Prev"}
_PACKED_KEYS = {"Type", "N", "First", "Filter", "Length"}  # of a stream of objects
_PAIR = re.compile(rb"(?P<number>[0-9]{1,7}) (?P<at>[0-9]{1,9})[ \n]")
# by these a viewer that gives up on a table finds objects, wherever they stand (ISO 32000-1:2008, 7.5)
_FOUND_BY = re.compile(rb"[0-9](?:" + _SPACE + rb"|%[^\r\n]{0,99}[\r\n]){1,9}+obj|trailer|xref|%%EOF")
# in every update beside its objects: the table, the trailer, the way to the table and the end; or the table
# as an object, the way to it and the end
_WITH_TABLE, _WITH_STREAM = 4, 3
_FLATE = ("FlateDecode", ["FlateDecode"])


def revisions(data: bytes) -> tuple[Revision, ...]:
    """Return the file as issued and every update of it; NotVerified, with the place, for anything odd."""
    reader = _Reader(data)
    found = [reader.revision(None)]
    while reader.at < len(data):
        if len(found) > MOST_UPDATES:
            raise reader.wrong(f"more than {MOST_UPDATES} updates follow the certificate")
        found.append(reader.revision(found[-1]))
    return tuple(found)


class _Reader:
    """Goes through the bytes once, from the first to the last."""

    def __init__(self, data: bytes) -> None:
        self._data = data
        self._syntax = self._inflated = self._objects = self._tokens = 0
        self.at = 0

    def wrong(self, what: str) -> NotVerified:
        """Return the error about the place that was reached."""
        return NotVerified(f"the file is not built as certgen builds it: at byte {self.at}, {what}.")

    def revision(self, before: Revision | None) -> Revision:
        """Read objects up to a table and a trailer, and those; `before` is what this one updates."""
        found, begins, table = Revision(), self.at, None
        if before is None:
            if not self._data.startswith(HEADER):
                raise self.wrong("there is another header")
            self.at = len(HEADER)
        elif self._data[self.at : self.at + 1] in (b"\n", b"\r"):
            self.at += 1
        while self._data[self.at : self.at + 4] != b"xref":
            place = self.at
            number, value = self._object(before is None)
            if number in found.objects:
                raise self.wrong(f"object {number} stands twice")
            if isinstance(value, Stream) and value.keys.get("Type") == "XRef":
                table = Table(number, place, value)
                break
            found.places[number] = place
            if isinstance(value, Stream) and value.keys.get("Type") == "ObjStm":
                self._unpack(number, value, found)
            else:
                found.objects[number] = value
        found.table, found.trailer = self._listed(found, table)
        if found.trailer.get("Prev") != (None if before is None else before.table):
            raise self.wrong("the trailer does not lead to what is updated")
        found.end = self.at
        if before is not None:
            others = _WITH_TABLE if table is None else _WITH_STREAM
            self._require_no_other_way(found, before, self._data[begins : self.at], others)
        return found

    def _require_no_other_way(self, update: Revision, before: Revision, data: bytes, others: int) -> None:
        """Refuse an update in which a viewer that is less strict could find other objects than stand here.

        Without the catalog in the trailer some viewers look for objects in all bytes, those of streams too.
        """
        if any(update.trailer.get(key) != before.trailer.get(key) for key in ("Root", "Info")):
            raise self.wrong(
                "the trailer of an update names another catalog or document information, or none"
            )
        size, last = update.trailer.get("Size"), before.trailer.get("Size")
        most = max(update.objects, default=0)
        if not isinstance(size, int) or not isinstance(last, int) or not max(last, most + 1) <= size:
            raise self.wrong("the trailer of an update names fewer objects than there are")
        if len(_FOUND_BY.findall(data)) != len(update.objects) + others:
            raise self.wrong("an update holds within a text or a stream what reads as a part of the file")

    def _take(self, pattern: re.Pattern[bytes], what: str) -> re.Match[bytes]:
        found = pattern.match(self._data, self.at)
        if found is None:
            raise self.wrong(what)
        self._syntax += found.end() - self.at
        self.at = found.end()
        if self._syntax > MOST_SYNTAX:
            raise self.wrong(f"there are more than {MOST_SYNTAX} bytes beside the data of streams")
        return found

    def _object(self, issued: bool) -> tuple[int, Any]:
        number = int(self._take(_BEGINS, "there is neither an object nor the table")["number"])
        self._objects += 1
        if self._objects > MOST_OBJECTS:
            raise self.wrong(f"there are more than {MOST_OBJECTS} objects")
        value = self._value()
        if isinstance(value, dict) and _STREAM.match(self._data, self.at):
            value = self._stream(value, issued)
        else:
            self._take(_ENDS, f"object {number} does not end where it should")
        return number, value

    def _stream(self, keys: dict[str, Any], issued: bool) -> Stream:
        self._take(_STREAM, "")
        length = keys.get("Length")
        if not isinstance(length, int) or not 0 <= length <= len(self._data) - self.at:
            raise self.wrong("a stream does not say its length")
        packed = self._data[self.at : self.at + length]
        unfolded = self._unfolded(keys, packed, issued)
        self.at += length
        self._take(_STREAM_ENDS, "a stream has another length than it says")
        return Stream(keys, packed, unfolded)

    def _unfolded(self, keys: dict[str, Any], packed: bytes, issued: bool) -> int:
        """The length of what a stream holds, measured without keeping it."""
        odd = keys.keys() & {"F", "FFilter", "FDecodeParms", "DL"}
        plain, kind = "Filter" not in keys, keys.get("Type")
        odd |= keys.keys() & {"DecodeParms"} if kind != "XRef" else set()
        if odd or not (plain or keys["Filter"] in _FLATE) or (kind == "ObjStm" and not issued):
            raise self.wrong("a stream is packed otherwise than by Flate alone, as certgen packs")
        if plain and issued and keys.get("Type") != "Metadata":
            raise self.wrong("a stream is not packed, as certgen packs all but the metadata")
        length = len(packed) if plain else self._inflate(packed)
        self._inflated += length
        if length > MOST_IN_ONE or self._inflated > MOST_INFLATED:
            raise self.wrong(
                f"streams unfold to more than {MOST_INFLATED // 1_000_000} MB, or one to too much"
            )
        return length

    def _inflate(self, packed: bytes) -> int:
        unpacker, length, rest = zlib.decompressobj(), 0, packed
        try:
            while rest and length <= MOST_IN_ONE:
                length += len(unpacker.decompress(rest, 1_000_000))
                rest = unpacker.unconsumed_tail
            while (
                not unpacker.eof and length <= MOST_IN_ONE and (more := unpacker.decompress(b"", 1_000_000))
            ):
                length += len(more)
        except zlib.error:
            raise self.wrong("a stream cannot be unfolded") from None
        if length <= MOST_IN_ONE and (not unpacker.eof or unpacker.unused_data):
            raise self.wrong("a stream is cut off, or more follows its end")
        return length

    def _unpack(self, number: int, stream: Stream, found: Revision) -> None:
        """Add the objects that a stream holds (7.5.7): their places, then one after the other."""
        count, first = (stream.keys.get(key) for key in ("N", "First"))
        if stream.keys.keys() != _PACKED_KEYS or not isinstance(count, int) or not isinstance(first, int):
            raise self.wrong("a stream of objects is none that certgen writes")
        outer, self._data, self.at = (self._data, self.at), stream.data, 0
        pairs = [self._take(_PAIR, "the head of a stream of objects is none") for _ in range(count)]
        for index, pair in enumerate(pairs):
            one = int(pair["number"])
            if self.at != first + int(pair["at"]) or one in found.objects or one in found.places:
                raise self.wrong(f"object {one} stands twice, or at another place than its stream says")
            self._objects += 1
            if self._objects > MOST_OBJECTS:
                raise self.wrong(f"there are more than {MOST_OBJECTS} objects")
            found.objects[one], found.inside[one] = self._value(), (number, index)
            self._take(_NEWLINE, f"object {one} does not end where it should")
        if self.at != len(self._data):
            raise self.wrong("a stream of objects holds more than objects")
        self._data, self.at = outer

    def _listed(self, found: Revision, table: Table | None) -> tuple[int, dict[str, Any]]:
        """The place of the table and the trailer; the table has to name the objects that stand before it."""
        if table is None:
            place = self.at
            if self._table() != found.places or found.inside:
                raise self.wrong("the table names other objects or places than those before it")
            self._take(_TRAILER, "there is no trailer")
            trailer = self._value()
        else:
            place, keys = table.place, table.stream.keys
            try:
                named = table.entries()
            except (KeyError, TypeError, ValueError):
                raise self.wrong("the table is none that certgen writes") from None
            if named != {**found.places, **found.inside, table.number: place}:
                raise self.wrong("the table names other objects or places than those before it")
            trailer = {key: value for key, value in keys.items() if key not in TABLE_KEYS}
        if not isinstance(trailer, dict) or trailer.keys() - _TRAILER_KEYS:
            raise self.wrong("the trailer holds something that certgen never writes")
        if int(self._take(_LAST, "the file does not end as it should")["table"]) != place:
            raise self.wrong("the end of the file does not lead to its table")
        return place, trailer

    def _table(self) -> dict[int, int]:
        """The places of the objects, as the table names them."""
        self._take(_XREF, "there is no table")
        named: dict[int, int] = {}
        while _SECTION.match(self._data, self.at):
            section = self._take(_SECTION, "")
            for number in range(int(section["first"]), int(section["first"]) + int(section["count"])):
                place, free, _ = self._take(_ENTRY, "the table is none").groups()
                if (free is not None) != (number == 0) or number in named:
                    raise self.wrong(f"the table names object {number} as free, or twice")
                named[number] = int(place)
        named.pop(0, None)
        return named

    def _value(self) -> Any:
        """Read one value; what is open is kept in a list, so that no nesting is too deep to be refused."""
        opened: list[_Opened] = []
        while True:
            token = self._take(_TOKEN, "there is something that certgen never writes")
            self._tokens += 1
            if self._tokens > MOST_TOKENS:
                raise self.wrong(f"there are more than {MOST_TOKENS} values")
            if token["open"]:
                opened.append(_Opened(token["open"] == b"<<"))
                if len(opened) > DEEPEST:
                    raise self.wrong("it is nested too deeply")
                continue
            if not token["close"]:
                value = _plain(token)
            elif opened and opened[-1].closes(token["close"]):
                value = opened.pop().value()
            else:
                raise self.wrong("brackets do not match")
            if not opened:
                return value
            wrong = opened[-1].add(value)
            if wrong:
                raise self.wrong(wrong)


class _Opened:
    """A dictionary or an array that is not yet complete."""

    def __init__(self, dictionary: bool) -> None:
        self._keys: dict[str, Any] | None = {} if dictionary else None
        self._items: list[Any] = []
        self._key: str | None = None

    def closes(self, bracket: bytes) -> bool:
        return self._key is None and bracket == (b"]" if self._keys is None else b">>")

    def value(self) -> Any:
        return self._items if self._keys is None else self._keys

    def add(self, value: Any) -> str:
        """Add a value; return what is wrong with it."""
        if self._keys is None:
            self._items.append(value)
        elif self._key is None:
            if not isinstance(value, Name) or "#" in value:
                return "a key of a dictionary is none"
            if value in self._keys:
                return f"the key /{value} stands twice in one dictionary"
            self._key = value
        else:
            self._keys[self._key], self._key = value, None
        return ""


def _plain(token: re.Match[bytes]) -> Any:
    if token["name"] is not None:
        return Name(token["name"].decode("ascii"))
    if token["reference"] is not None:
        return Reference(int(token["reference"]))
    if token["number"] is not None:
        text = token["number"]
        return float(text) if b"." in text else int(text)
    if token["word"] is not None:
        return {b"true": True, b"false": False, b"null": None}[token["word"]]
    return token["hex"] if token["text"] is None else token["text"]
