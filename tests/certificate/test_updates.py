"""What may follow a signature: nothing by which a viewer shows other pages than those that were signed."""

import re
import zlib
from functools import cache

import pytest

from certgen.errors import NotVerified
from certgen.register.intake import take
from certgen.verify.compare_contents import answer
from certgen.verify.issued_file import carried
from certgen.verify.pdf_bytes import revisions
from tests.certificate.authority import authority, signer
from tests.certificate.forge import objects, stream, with_stream
from tests.certificate.test_sign import checks, printed, signed_by

DER = signer("Intermediate").certificate.public_bytes


def updated(data: bytes, parts: dict[int, bytes], generation: int = 0, **trailer: bytes) -> bytes:
    """Return a file with an update of objects; `trailer` changes its keys, those of no bytes are left out."""
    issued = revisions(data)
    keys = {"Root": b"%d 0 R" % issued[0].trailer["Root"].number}
    keys["Info"] = b"%d 0 R" % issued[0].trailer["Info"].number
    keys |= {"Size": b"%d" % (max(parts) + 1), "Prev": b"%d" % issued[-1].table} | trailer
    body, table = data, b""
    for number, part in sorted(parts.items()):
        table += b"%d 1\n%010d %05d n \n" % (number, len(body), generation)
        body += b"%d %d obj\n%s\nendobj\n" % (number, generation, part)
    said = b" ".join(b"/%s %s" % (key.encode(), value) for key, value in keys.items() if value)
    end = b"trailer\n<< %s >>\nstartxref\n%d\n%%%%EOF\n" % (said, len(body))
    return body + b"xref\n" + table + end


def packed(data: bytes, keys: bytes = b"") -> bytes:
    """Return a stream as the value of an object."""
    return b"<< /Length %d %s >>\nstream\n%s\nendstream" % (len(data), keys, data)


@cache
def other_page() -> bytes:
    """Return the object of the first page with another verdict, as it would stand in the file."""
    found = (
        (number, part) for number, part in objects(printed().pdf).items() if b" Tj" in (stream(part) or b"")
    )
    _, part = next(found)
    content = stream(part)
    assert content is not None
    changed = re.sub(rb"\((pass|fail|not shown)\) Tj", b"(PASSED) Tj", content)
    return b"\n" + with_stream(part, changed) + b"\n"


def with_store_of(certificate: bytes, **trailer: bytes) -> bytes:
    """Return a signed certificate to which somebody appended a store with one certificate, a stream."""
    data = signed_by()
    issued = revisions(data)
    number = issued[0].trailer["Root"].number
    begins = issued[-1].places[number]
    catalog = data[data.index(b"obj", begins) + 3 : data.index(b"endobj", begins)].strip()
    free = max(one.trailer["Size"] for one in issued)
    parts = {
        number: catalog[:-2] + b" /DSS %d 0 R >>" % free,
        free: b"<< /Type /DSS /Certs [%d 0 R] >>" % (free + 1),
        free + 1: certificate,
    }
    return updated(data, parts, **trailer)


def plain_store(**trailer: bytes) -> bytes:
    """Return a signed certificate with a store in which nothing is hidden."""
    from cryptography.hazmat.primitives.serialization import Encoding

    return with_store_of(packed(DER(Encoding.DER)), **trailer)


def test_store_that_hides_nothing_may_follow() -> None:
    """The attacks below fail for what they add, not for how they are put together."""
    assert answer(checks(plain_store(), authority().pem()).values()) == "verified"


HIDDEN = {
    "as it is, and no catalog": lambda: with_store_of(packed(other_page()), Root=b""),
    "as it is": lambda: with_store_of(packed(other_page())),
    "packed without getting smaller": lambda: with_store_of(
        packed(zlib.compress(other_page(), 0), b"/Filter /FlateDecode")
    ),
    "over a comment": lambda: with_store_of(packed(b"50 % \n 0%\nobj << >> endobj")),
    "a trailer": lambda: with_store_of(packed(b"\ntrailer << /Root 1 0 R >>\n")),
    "a table": lambda: with_store_of(packed(b"\nxref\n0 0\n")),
    "an end": lambda: with_store_of(packed(b"\n%%EOF\n")),
    "in a text": lambda: with_store_of(b"<< /Type (\n50 0 obj << >> endobj) >>"),
}


@pytest.mark.parametrize("how", HIDDEN)
def test_object_within_an_update_is_refused(how: str) -> None:
    """A viewer that looks for objects in all bytes would find it there and show it."""
    with pytest.raises(NotVerified, match=r"reads as a part of the file|names another catalog"):
        carried(HIDDEN[how]())


@pytest.mark.parametrize("trailer", [{"Root": b""}, {"Root": b"1 0 R"}, {"Info": b""}, {"Info": b"1 0 R"}])
def test_update_leads_to_the_same_catalog_and_information(trailer: dict[str, bytes]) -> None:
    """Without them some viewers build the table anew from what they find."""
    with pytest.raises(NotVerified, match="names another catalog or document information, or none"):
        carried(plain_store(**trailer))


@pytest.mark.parametrize("size", [b"1", b"20", b"", b"-1", b"true"])
def test_update_names_as_many_objects_as_there_are(size: bytes) -> None:
    """What lies beyond the size is missing for some viewers."""
    with pytest.raises(NotVerified, match="names fewer objects than there are"):
        carried(plain_store(Size=size))


def test_generations_are_refused() -> None:
    """Viewers do not agree on which of two generations of an object counts."""
    data = signed_by()
    with pytest.raises(NotVerified, match="neither an object nor the table"):
        carried(updated(data, {max(revisions(data)[-1].objects) + 1: b"<< >>"}, generation=1))


def test_register_takes_no_signed_form_that_hides_an_object() -> None:
    """What a stranger appended to a certificate is not recorded as its signed form."""
    with pytest.raises(NotVerified, match="names another catalog"):
        take("forged.pdf", with_store_of(packed(other_page()), Root=b""))
