"""What is seen of signatures and time stamps: no word beside the certificate."""

from io import BytesIO

import pytest
from pyhanko.sign.fields import SigFieldSpec, append_signature_field
from pyhanko.sign.signers import PdfTimeStamper
from reportlab.pdfgen.canvas import Canvas

from certgen.signature.pades import _Update, key_of, name_of, signature_face, signed
from tests.certificate.authority import PASSPHRASE, authority, key_file, signer
from tests.certificate.samples import WORDING
from tests.certificate.test_sign import NOW, checks, printed, signed_by, stamper

SAID = "CORRECTED: AS FOUND PASS"


def picture(text: str) -> bytes:
    """Return a page as large as the place to sign."""
    left, bottom, right, top = printed().places[-1].box
    buffer = BytesIO()
    canvas = Canvas(buffer, pagesize=(right - left, top - bottom), pageCompression=1)
    canvas.drawString(4, 10, text)
    canvas.save()
    return buffer.getvalue()


def with_face(face: bytes) -> bytes:
    """Return a certificate that somebody trusted has signed, with a picture of their own."""
    key = key_of(key_file(signer("K. Sample")), PASSPHRASE.encode(), NOW)
    return signed(printed(), key, face)


def stamped(who: str, seen: bool) -> bytes:
    """Return a signed certificate with a time stamp of the document, seen in the other place or not."""
    writer = _Update(BytesIO(signed_by()))
    place = printed().places[0]
    if seen:
        box = tuple(round(side) for side in place.box)
        append_signature_field(writer, SigFieldSpec("Stamp", on_page=place.page - 1, box=box))
    made = PdfTimeStamper(stamper(who), field_name="Stamp").timestamp_pdf(writer, "sha256")
    return bytes(made.getbuffer())


def test_own_face_is_no_remark() -> None:
    """It says who has signed and when."""
    assert "face" not in checks(signed_by(), authority().pem())


@pytest.mark.parametrize("text", [SAID, ""])
def test_picture_of_a_signature_is_told(text: str) -> None:
    """With what it says; with authorities to trust, nobody's signature may show anything else."""
    data = with_face(picture(text))
    told = checks(data)["face"]
    assert (told.outcome, (text or "nothing that can be read") in told.text) == ("remark", True)
    assert checks(data, authority().pem())["face"].outcome == "differs"


def test_face_of_another_signer_is_told() -> None:
    """What certgen draws, over the name of somebody else."""
    face = signature_face(printed().places[-1], "The Inspector", NOW, WORDING)
    assert "Signature: The Inspector" in checks(with_face(face))["face"].text
    key = key_of(key_file(signer("K. Sample")), PASSPHRASE.encode(), NOW)
    early = signature_face(printed().places[-1], name_of(key), NOW.replace(year=NOW.year - 1), WORDING)
    assert checks(with_face(early))["face"].outcome == "remark"


@pytest.mark.parametrize("who", ["Example Authority", "Stranger"])
def test_time_stamp_that_is_seen_is_a_fault(who: str) -> None:
    """None that belongs there shows anything."""
    found = checks(stamped(who, seen=True), authority().pem())["face"]
    assert (found.outcome, "A time stamp shows itself" in found.text) == ("differs", True)


def test_time_stamp_is_named_with_whether_it_is_trusted() -> None:
    """One that nobody knows counts for nothing."""
    data = stamped("Example Authority", seen=False)
    trusted, unknown = checks(data, authority().pem())["time stamp"], checks(data)["time stamp"]
    assert (trusted.outcome, "trusted authority" in trusted.text) == ("held", True)
    assert (unknown.outcome, "counts for nothing" in unknown.text) == ("remark", True)
    other = checks(stamped("Stranger", seen=False), authority().pem())["time stamp"]
    assert (other.outcome, "untrusted" in other.text) == ("remark", True)
