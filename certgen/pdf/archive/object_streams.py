"""Objects packed into streams, and the cross-reference stream that says where each object stands.

ISO 32000-1:2008, 7.5.7 and 7.5.8. What is small and many, the tree of a tagged document, takes a tenth of the
room so.
"""

from collections.abc import Iterator, Mapping, Sequence
from struct import pack
from zlib import compress

SMALLEST = 9  # of the degrees of compression
_MOST = 500  # objects in a stream: a reader unpacks all of them to find one
_PLAIN, _PACKED = 1, 2  # kinds of entries of a cross-reference stream
_WIDTHS = b"1 4 2"  # bytes of kind, place and index
COLUMNS = 7  # bytes of an entry

# where an object stands: its byte, or the number of its stream and its index there
Place = int | tuple[int, int]


def packed(objects: Sequence[tuple[int, bytes]], first: int) -> Iterator[tuple[int, bytes, list[int]]]:
    """Yield streams of objects, numbered from `first`: number, text, and the numbers of what it holds."""
    for start in range(0, len(objects), _MOST):
        some = objects[start : start + _MOST]
        places, at = [], 0
        for number, text in some:
            places.append(b"%d %d" % (number, at))
            at += len(text) + 1
        head = b" ".join(places) + b"\n"
        data = head + b"\n".join(text for _, text in some) + b"\n"
        keys = b"/Type /ObjStm /N %d /First %d" % (len(some), len(head))
        number = first + start // _MOST
        yield number, stream(number, keys, data), [one for one, _ in some]


def _upwards(rows: Sequence[bytes]) -> bytes:
    """Rows as their difference to the row above (ISO 32000-1:2008, 7.4.4.4; PNG's filter Up)."""
    above = (bytes(COLUMNS), *rows)
    pairs = zip(rows, above, strict=False)
    return b"".join(b"\x02" + bytes((a - b) & 255 for a, b in zip(*pair, strict=True)) for pair in pairs)


def stream(number: int, keys: bytes, data: bytes) -> bytes:
    """Return an object that is a stream, compressed and as ISO 19005-3:2012, 6.1.7.1 asks for it."""
    data = compress(data, SMALLEST)
    head = b"%d 0 obj\n<< %s /Filter /FlateDecode /Length %d >>\nstream\n" % (number, keys, len(data))
    return head + data + b"\nendstream\nendobj\n"


def table(places: Mapping[int, Place], at: int, trailer: bytes) -> bytes:
    """Return the cross-reference stream that stands at a byte, and the end of the file.

    `places` are those of all objects from 1 on without a gap; `trailer` are the entries of a trailer.
    """
    number = len(places) + 1
    entries = [pack(">BIH", 0, 0, 65535)]
    for one in range(1, number):
        place = places[one]
        kind, *at_ = (_PLAIN, place, 0) if isinstance(place, int) else (_PACKED, *place)
        entries.append(pack(">BIH", kind, *at_))
    entries.append(pack(">BIH", _PLAIN, at, 0))
    keys = b"/Type /XRef /Size %d /W [%s] /DecodeParms << /Predictor 12 /Columns %d >> %s"
    keys %= (number + 1, _WIDTHS, COLUMNS, trailer)
    return stream(number, keys, _upwards(entries)) + b"startxref\n%d\n%%%%EOF\n" % at
