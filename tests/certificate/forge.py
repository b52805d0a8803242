"""A forger's tools: change a stream of a certificate and make digest, identifiers and table fit again."""

import json
import re
import zlib
from hashlib import md5, sha256

from certgen.pdf.archive.metadata import print_digest
from certgen.pdf.archive.object_streams import Place, packed, table
from certgen.pdf.archive.pdf_a import LEADS
from certgen.verify.pdf_bytes import revisions

_OBJECT = re.compile(rb"(\d+) 0 obj\n")
_STREAM = re.compile(rb"stream\n(.*)\nendstream\nendobj\n$", re.DOTALL)
_STREAM_ENDS = b"endstream\nendobj\n"
_DIGEST = re.compile(rb"(?<=<certgen:digest>)\w{64}")


def objects(data: bytes) -> dict[int, bytes]:
    """Return every object by number, in the order of the file, packed ones as if they stood by themselves."""
    if b"/Type /ObjStm" in data:
        return _unpacked(data)
    table = int(data[data.rindex(b"startxref\n") :].split()[1])
    places = sorted(int(line[:10]) for line in data[table:].split(b"\n")[3:] if line.endswith(b" n "))
    parts = [data[at:end] for at, end in zip(places, [*places[1:], table], strict=True)]
    return {int(_OBJECT.match(part)[1]): part for part in parts}  # type: ignore[index]  # all begin so


def _unpacked(data: bytes) -> dict[int, bytes]:
    issued = revisions(data)[0]
    order = sorted((place, number) for number, place in issued.places.items())
    ends = [*(place for place, _ in order[1:]), issued.table]
    parts: dict[int, bytes] = {}
    for (place, number), end in zip(order, ends, strict=True):
        part = data[place:end]
        if b"/Type /ObjStm" not in part[:60]:
            parts[number] = part
            continue
        held = stream(part)
        assert held is not None
        first = int(re.search(rb"/First (\d+)", part)[1])  # type: ignore[index]  # each has it
        numbers = [int(word) for word in held[:first].split()]
        starts = [first + at for at in numbers[1::2]]
        for one, start, stop in zip(numbers[::2], starts, [*starts[1:], len(held)], strict=True):
            parts[one] = b"%d 0 obj\n%s\nendobj\n" % (one, held[start : stop - 1])
    return parts


def stream(part: bytes) -> bytes | None:
    """Return what a compressed stream holds, None for any other object."""
    found = _STREAM.search(part)
    return zlib.decompress(found[1]) if found and b"/FlateDecode" in part else None


def with_stream(part: bytes, content: bytes, level: int = -1) -> bytes:
    """Return the object with another content."""
    packed = zlib.compress(content, level)
    head = re.sub(rb"/Length \d+", b"/Length %d" % len(packed), part[: part.index(b"stream\n")])
    return head + b"stream\n" + packed + b"\nendstream\nendobj\n"


def forged(data: bytes, changed: dict[int, bytes]) -> bytes:
    """Return the certificate with objects replaced or added, and all that tells of it put right."""
    if b"/Type /ObjStm" in data:
        return _packed(data, {**objects(data), **changed})
    header = data[: data.index(b"1 0 obj\n")]
    parts = {**objects(data), **changed}
    (metadata,) = (number for number, part in parts.items() if b"/Type /Metadata" in part)
    parts[metadata] = parts.pop(metadata)  # it is the last one, whatever was added
    body, places = header, {}
    for number, part in parts.items():
        if number == metadata:
            part = _DIGEST.sub(sha256(body).hexdigest().encode(), part)
        places[number] = len(body)
        body += part
    entries = b"".join(b"%010d 00000 n \n" % places[number] for number in sorted(places))
    trailer = data[data.rindex(b"trailer\n") : data.rindex(b"startxref")]
    trailer = re.sub(rb"<\w{32}>", b"<" + sha256(body).hexdigest()[:32].encode() + b">", trailer)
    trailer = re.sub(rb"/Size \d+", b"/Size %d" % (len(places) + 1), trailer)
    table = b"xref\n0 %d\n0000000000 65535 f \n" % (len(places) + 1)
    return body + table + entries + trailer + b"startxref\n%d\n%%%%EOF\n" % len(body)


def _packed(data: bytes, parts: dict[int, bytes]) -> bytes:
    """As certgen writes them: what is no stream, and leads to no attached file, in streams of objects."""
    (metadata,) = (number for number, part in parts.items() if b"/Type /Metadata" in part)
    plain = [number for number, part in parts.items() if part.endswith(_STREAM_ENDS) or LEADS.search(part)]
    names = dict(zip(sorted(parts), range(1, len(parts) + 1), strict=True))
    assert all(one == other for one, other in names.items())  # no number is left out
    body, places = data[: data.index(b" 0 obj\n")].rpartition(b"\n")[0] + b"\n", dict[int, Place]()
    for number in plain:
        if number != metadata:
            places[number] = len(body)
            body += parts[number]
    small = [
        (number, part[part.index(b" obj\n") + 5 : part.rindex(b"\nendobj")])
        for number, part in sorted(parts.items())
        if number not in plain
    ]
    for one, text, held in packed(small, len(parts) + 1):
        places[one] = len(body)
        places.update({number: (one, index) for index, number in enumerate(held)})
        body += text
    places[metadata] = len(body)
    body += _DIGEST.sub(sha256(body).hexdigest().encode(), parts[metadata])
    trailer = re.search(rb"/Root \d+ 0 R /Info \d+ 0 R", data[revisions(data)[0].table :])
    assert trailer is not None
    name = sha256(body).hexdigest()[:32].encode()
    return body + table(places, len(body), b"%s /ID [<%s> <%s>]" % (trailer[0], name, name))


def recorded(data: bytes, **others: object) -> bytes:
    """Return the certificate with another record of how it was printed, or one without a key (None)."""
    parts = objects(data)
    ((number, content),) = (
        (n, found) for n, part in parts.items() if (found := stream(part)) and b'"certgen-results/1"' in found
    )
    found = json.loads(content)
    found["printed"] = {k: v for k, v in (found["printed"] | others).items() if v is not None}
    text = json.dumps(found, indent=1, ensure_ascii=False) + "\n"
    fitting = f"<certgen:printed>{print_digest(found['printed'])}<".encode()
    (metadata,) = (n for n, part in parts.items() if b"/Type /Metadata" in part)
    packet = re.sub(rb"<certgen:printed>\w+<", fitting, parts[metadata])
    return forged(data, {number: measured(parts[number], text.encode()), metadata: packet})


def measured(part: bytes, content: bytes) -> bytes:
    """Return the object of an attached file with another content, its size and check sum put right."""
    changed = with_stream(part, content)
    head, rest = changed[: changed.index(b"stream\n")], changed[changed.index(b"stream\n") :]
    head = re.sub(rb"/Size \d+", b"/Size %d" % len(content), head)
    return re.sub(rb"<\w{32}>", b"<" + md5(content).hexdigest().encode() + b">", head) + rest  # noqa: S324
