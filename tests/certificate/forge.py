"""A forger's tools: change a stream of a certificate and make digest, identifiers and table fit again."""

import json
import re
import zlib
from hashlib import md5, sha256

from certgen.pdf.archive.metadata import print_digest

_OBJECT = re.compile(rb"(\d+) 0 obj\n")
_STREAM = re.compile(rb"stream\n(.*)\nendstream\nendobj\n$", re.DOTALL)
_DIGEST = re.compile(rb"(?<=<certgen:digest>)\w{64}")


def objects(data: bytes) -> dict[int, bytes]:
    """Return every object by number, in the order of the file."""
    table = int(data[data.rindex(b"startxref\n") :].split()[1])
    places = sorted(int(line[:10]) for line in data[table:].split(b"\n")[3:] if line.endswith(b" n "))
    parts = [data[at:end] for at, end in zip(places, [*places[1:], table], strict=True)]
    return {int(_OBJECT.match(part)[1]): part for part in parts}  # type: ignore[index]  # all begin so


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
