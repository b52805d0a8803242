"""Certificates of a few bytes, for the tests that need many."""

import json
import zlib
from dataclasses import replace
from functools import cache
from hashlib import sha256

import asn1crypto.x509
from asn1crypto import cms
from cryptography.hazmat.primitives.serialization import Encoding

from certgen.register.entries import PDF, RESULTS, SURVEY, Certificate, Held, Used
from tests.certificate.authority import signer

SIGNER = "K. Sample"
WHEN = "2026-11-25T08:00:00Z"
LATER = "2029-11-25T08:00:00Z"  # long enough after for bytes to go
LASER = Used("sweeping laser", "SL-0417", "2026-02-11", "2027-02-11", "certificate 26-1187")
LEVEL = Used("precision level", "PL-22", "2026-01-20", "2027-01-20", "certificate 26-0904")
PLAIN = Certificate(
    number="FC-2026-001",
    revision=0,
    issued="2026-10-16",
    started="2026-10-14",
    finished="2026-10-15",
    line="Spunbond line 3",
    asset="LN3-WND",
    location="Hall B",
    customer="Larkfield Nonwovens",
    order="PO 77120",
    contractor="Fennel Creek Alignment",
    decision="guarded",
    as_found="fail",
    as_left="pass",
    instruments=(LASER, LEVEL),
)


def small(number: str, revision: int = 0, **said: object) -> Held:
    """Return a certificate of few bytes, its files like no other's; its PDF carries the others."""
    one = replace(PLAIN, number=number, revision=revision, **said)  # type: ignore[arg-type]
    return held_of(one, f"survey of {number}, {revision}".encode())


def held_of(one: Certificate, survey: bytes, results: bytes | None = None) -> Held:
    """Return a certificate that says so, with this survey and with these results or such as say the same."""
    results = _results(one, survey) if results is None else results
    return Held(one, {PDF: pdf_of(survey, results), SURVEY: survey, RESULTS: results})


def _results(one: Certificate, survey: bytes) -> bytes:
    names = ("number", "revision", "issued", "supersedes", "reason")
    found = {
        "format": "certgen-results/1",
        "survey_sha256": sha256(survey).hexdigest(),
        "certificate": {name: getattr(one, name) for name in names},
        "decision": one.decision,
        "overall": {"as_found": one.as_found, "as_left": one.as_left},
    }
    return json.dumps(found).encode()


def pdf_of(survey: bytes, results: bytes) -> bytes:
    """Return a PDF without pages that carries these files, in the form in which certgen writes them."""
    embedded = [_embedded(data, kind) for data, kind in ((survey, b"yaml"), (results, b"json"))]
    named = [_named(b"survey.yaml", 1, b"Source"), _named(b"results.json", 2, b"Data")]
    names = b"<<\n/EmbeddedFiles <<\n/Names [ (results.json) 4 0 R (survey.yaml) 3 0 R ]\n>>\n>>"
    catalog = (
        b"<<\n/AF [ 3 0 R 4 0 R ] /Lang (en) /Metadata 8 0 R /Names 5 0 R /Pages 7 0 R /Type /Catalog\n>>"
    )
    packet = b"<certgen:format>certgen-certificate/1</certgen:format>"
    metadata = b"<< /Type /Metadata /Subtype /XML /Length %d >>\nstream\n%s\nendstream" % (
        len(packet),
        packet,
    )
    information, pages = b"<<\n/Title (Small)\n>>", b"<<\n/Count 0 /Kids [] /Type /Pages\n>>"
    objects = [*embedded, *named, names, catalog, pages, metadata, information]
    body, places = b"%PDF-1.7\n", []
    for number, each in enumerate(objects, 1):
        places.append(len(body))
        body += b"%d 0 obj\n%s\nendobj\n" % (number, each)
    table = b"".join(b"%010d 00000 n \n" % place for place in places)
    head = b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    name = sha256(body).hexdigest()[:32].encode()
    trailer = b"trailer\n<<\n/ID [<%s> <%s>] /Info 9 0 R /Root 6 0 R /Size 10\n>>\n" % (name, name)
    return body + head + table + trailer + b"startxref\n%d\n%%%%EOF\n" % len(body)


def _embedded(data: bytes, kind: bytes) -> bytes:
    packed, day = zlib.compress(data), b"(D:20261016000000Z)"
    said = b"/CheckSum <00> /CreationDate %s /ModDate %s /Size %d" % (day, day, len(data))
    head = b"<<\n/Filter [ /FlateDecode ] /Length %d /Params <<\n%s\n>>" % (len(packed), said)
    return b"%s /Subtype /application#2F%s /Type /EmbeddedFile\n>>\nstream\n%s\nendstream" % (
        head,
        kind,
        packed,
    )


def _named(name: bytes, embedded: int, relationship: bytes) -> bytes:
    files = b"<<\n/F %d 0 R /UF %d 0 R\n>>" % (embedded, embedded)
    head = b"<<\n/AFRelationship /%s /Desc (A file) /EF %s" % (relationship, files)
    return b"%s /F (%s) /Type /Filespec /UF (%s)\n>>" % (head, name, name)


def signed(held: Held, signature: str = "signed") -> Held:
    """Return a certificate with something appended to its PDF that has the form of a signature."""
    before = held.files[PDF] + f"\n% {signature}\n/Contents ".encode()
    after, space = b" /ByteRange [0 %10d %10d %10d]\n%%%%EOF\n", 2 * 4000 + 2
    ranges = after % (len(before), len(before) + space, len(after % (0, 0, 0)))
    digest = sha256(before + ranges).digest()
    content = _cms(digest).hex().encode()
    whole = before + b"<" + content.ljust(space - 2, b"0") + b">" + ranges
    return replace(held, files={**held.files, PDF: whole}, signed_by=(*held.signed_by, SIGNER))


def _cms(digest: bytes) -> bytes:
    """What a signature of that digest says (RFC 5652), but for the signature itself, which nobody made."""
    import pyhanko.sign.signers  # noqa: F401  # it adds to the kinds of attributes, before any was looked up

    certificate = asn1crypto.x509.Certificate.load(_certificate())
    algorithm = {"algorithm": "sha256"}
    signer = {
        "version": "v1",
        "sid": {"issuer_and_serial_number": {
            "issuer": certificate.issuer, "serial_number": certificate.serial_number}},
        "digest_algorithm": algorithm,
        "signed_attrs": [{"type": "message_digest", "values": [digest]}],
        "signature_algorithm": {"algorithm": "sha256_rsa"},
        "signature": b"none",
    }  # fmt: skip
    signed_data = {
        "version": "v1",
        "digest_algorithms": [algorithm],
        "encap_content_info": {"content_type": "data"},
        "certificates": [certificate],
        "signer_infos": [signer],
    }
    content: bytes = cms.ContentInfo({"content_type": "signed_data", "content": signed_data}).dump()
    return content


@cache
def _certificate() -> bytes:
    return signer(SIGNER).certificate.public_bytes(Encoding.DER)
