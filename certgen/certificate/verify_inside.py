"""What of a certificate can be checked without computing it again: form, digests, metadata, survey."""

import re
from collections.abc import Iterator
from hashlib import sha256
from typing import Any

from certgen.certificate.archive_record import FORMAT, RESULTS, SURVEY, print_digest, results_bytes
from certgen.certificate.carried import Carried
from certgen.certificate.verification import Check, differs, held

_OBJECT = re.compile(rb"(?<=\n)(\d+) 0 obj\n")
_TRAILER = re.compile(
    rb"trailer\n<<\n/ID \[<\w{32}> <\w{32}>\] /Info \d+ 0 R /Root \d+ 0 R /Size (\d+)\n>>\n"
    rb"startxref\n(\d+)\n%%EOF\n"
)


def inside(certificate: Carried, found: dict[str, Any]) -> Iterator[Check]:
    """Yield the checks; `found` are the results inside, empty where they cannot be read."""
    yield _format(certificate, found.get("printed"))
    yield _digest(certificate)
    yield _identifiers(certificate)
    yield _table(certificate)
    yield _metadata(certificate)
    yield _survey(certificate, found)
    yield from _written(certificate, found)


def _format(certificate: Carried, how: Any) -> Check:
    """The version of the form, which the metadata and the results name."""
    named = certificate.metadata("certgen:format")
    recorded = how.get("format") if isinstance(how, dict) else None
    if named == recorded == FORMAT and certificate.metadata("certgen:printed") == print_digest(how):
        return held("format", f"The form of the certificate is {FORMAT}, printed as it records")
    says = (f"the metadata says {named or 'nothing'}", f"the results say {recorded or 'nothing'}")
    text = f"The form of the certificate is not {FORMAT}, or its record of printing was changed"
    return differs("format", text, says)


def _digest(certificate: Carried) -> Check:
    """The digest in the metadata is that of every byte that stands before it."""
    before = sha256(certificate.base[: certificate.packet_at]).hexdigest()
    if certificate.metadata("certgen:digest") == before:
        return held(
            "digest", "No byte of pages, fonts and attachments has changed since the file was written"
        )
    text = "Bytes of pages, fonts or attachments have changed since the file was written"
    return differs("digest", text, ("the digest in the metadata is another",))


def _identifiers(certificate: Carried) -> Check:
    """They are made from all that stands before the cross-reference table."""
    identifiers = [item.original_bytes.hex() for item in certificate.reader.trailer.get("/ID", ())]
    body = certificate.base[: _table_at(certificate)]
    if identifiers == [sha256(body).hexdigest()[:32]] * 2:
        return held("identifiers", "The file identifiers are those of its content")
    return differs("identifiers", "The file identifiers are not those of its content")


def _table(certificate: Carried) -> Check:
    """Every object is where the table says, and the trailer has nothing in it but what belongs there."""
    base, start = certificate.base, _table_at(certificate)
    places = {int(found[1]): found.start() for found in _OBJECT.finditer(base, 0, start)}
    entries = b"".join(b"%010d 00000 n \n" % places[number] for number in sorted(places))
    table = b"xref\n0 %d\n0000000000 65535 f \n%s" % (len(places) + 1, entries)
    end = _TRAILER.fullmatch(base, start + len(table))
    if base[start:].startswith(table) and end and (int(end[1]), int(end[2])) == (len(places) + 1, start):
        return held("table", "Every object is where the table of the file says")
    return differs("table", "The table of the objects or the end of the file was changed")


def _table_at(certificate: Carried) -> int:
    return certificate.base.rindex(b"xref\n0 ")


def _metadata(certificate: Carried) -> Check:
    pairs = certificate.information()
    odd = [f"{name}: “{xmp}” against “{info}”" for name, (xmp, info) in pairs.items() if xmp != info]
    if odd:
        return differs("metadata", "Metadata and document information do not agree", odd)
    return held("metadata", "Metadata and document information agree")


def _written(certificate: Carried, found: dict[str, Any]) -> Iterator[Check]:
    """Where a key stands twice, programs read different values; certgen writes results in one way only."""
    try:
        same = results_bytes(found) == certificate.results
    except ValueError:  # numbers that are none
        same = False
    if not same:
        text = f"{RESULTS} is not written as certgen writes it: a key may stand twice, or be spaced otherwise"
        yield differs("results", text)


def _survey(certificate: Carried, found: dict[str, Any]) -> Check:
    digest = sha256(certificate.survey).hexdigest()
    if found.get("survey_sha256") == digest:
        return held("survey", f"The survey inside is the one that was computed ({SURVEY}, SHA-256 {digest})")
    details = (f"its SHA-256 is {digest}", f"the results name {found.get('survey_sha256')}")
    return differs("survey", "The survey inside is not the one that was computed", details)
