"""A signed certificate: PAdES, still PDF/A-3b, seen in its place, and found out when anything is added."""

import shutil
import subprocess
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import cache
from http.server import BaseHTTPRequestHandler, HTTPServer
from io import BytesIO
from pathlib import Path

import pytest
from asn1crypto import crl, tsp
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from pyhanko.keys import load_certs_from_pemder_data
from pyhanko.keys.pemder import load_private_key_from_pemder_data
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.signers import PdfTimeStamper, SimpleSigner
from pyhanko.sign.timestamps import DummyTimeStamper
from pyhanko.sign.timestamps.common_utils import TimestampRequestError
from pyhanko.sign.validation import DocumentSecurityStore, SignatureCoverageLevel, validate_pdf_signature
from pyhanko_certvalidator import ValidationContext
from pyhanko_certvalidator.registry import SimpleCertificateStore
from pypdf import PdfReader, PdfWriter
from pypdf.annotations import FreeText

from certgen.errors import NotVerified, WrongUsage
from certgen.pdf.pdf_document import Printed, certificate
from certgen.signature.pades import key_of, name_of, signature_face, signed
from certgen.survey.survey import Paper
from certgen.verify.checks import verify
from certgen.verify.compare_contents import Check
from certgen.verify.issued_file import carried
from certgen.verify.signatures import authorities
from tests.certificate.authority import (
    PASSPHRASE,
    Owner,
    authority,
    key_file,
    revocations,
    signer,
    time_stamper,
)
from tests.certificate.samples import WORDING, sample
from tests.certificate.test_archive import SAMPLES, assert_valid
from tests.certificate.test_verify import again

NOW = datetime.now(UTC)


@cache
def printed(name: str = "tutorial", paper: Paper = "A4") -> Printed:
    """Return a certificate without a signature."""
    return certificate(sample(name), WORDING, paper)


@cache
def signed_by(who: str = "K. Sample", name: str = "tutorial", paper: Paper = "A4") -> bytes:
    """Return a certificate with somebody's signature."""
    key = key_of(key_file(signer(who)), PASSPHRASE.encode(), NOW)
    one = printed(name, paper)
    return signed(one, key, signature_face(one.places[-1], name_of(key), NOW, WORDING))


def checks(data: bytes, *trust: bytes) -> dict[str, Check]:
    """Return the checks of a certificate by name."""
    return {check.name: check for check in verify(carried(data), again, trust)}


def outcomes(data: bytes, *trust: bytes) -> dict[str, str]:
    """Return those of signature and what was appended; all faulty where the file is refused as a whole."""
    try:
        found = checks(data, *trust)
    except NotVerified:
        return dict.fromkeys(("appended", "signature"), "differs")
    return {name: found[name].outcome for name in ("appended", "signature", "trust") if name in found}


def test_signature_leaves_the_certificate_as_it_was() -> None:
    """It is appended; what came before is the same byte for byte."""
    assert signed_by().startswith(printed().pdf)
    assert carried(signed_by()).base == printed().pdf


def test_signed_certificate_is_still_valid(tmp_path: Path) -> None:
    """The independent validator finds nothing against ISO 19005-3, level B, on either paper."""
    papers: tuple[Paper, ...] = ("A4", "letter")
    pdfs = {f"{name} {paper}": signed_by("K. Sample", name, paper) for name in SAMPLES for paper in papers}
    assert_valid(tmp_path, pdfs)


def test_signature_is_pades_and_covers_all() -> None:
    """Form, coverage and trust, by the library's own judgement."""
    (found,) = PdfFileReader(BytesIO(signed_by())).embedded_signatures
    assert found.sig_object["/SubFilter"] == "/ETSI.CAdES.detached"
    roots = list(load_certs_from_pemder_data(authority().pem()))
    status = validate_pdf_signature(found, ValidationContext(trust_roots=roots, allow_fetching=False))
    assert status.bottom_line
    assert status.coverage == SignatureCoverageLevel.ENTIRE_FILE


def test_signature_holds_for_another_program(tmp_path: Path) -> None:
    """Poppler's own check: signature valid, whole document signed."""
    if shutil.which("pdfsig") is None:
        pytest.skip("pdfsig (poppler-utils) is not installed")
    (tmp_path / "a.pdf").write_bytes(signed_by())
    done = subprocess.run(["pdfsig", tmp_path / "a.pdf"], capture_output=True, text=True, check=False)
    assert "Signature is Valid." in done.stdout
    assert "Total document signed" in done.stdout
    assert "ETSI.CAdES.detached" in done.stdout


def test_signature_is_seen_in_its_place() -> None:
    """Name and day, on the page and in the rectangle of the last place to sign."""
    place = printed().places[-1]
    (widget,) = (
        item.get_object() for item in PdfReader(BytesIO(signed_by())).pages[place.page - 1]["/Annots"]
    )
    assert [float(side) for side in widget["/Rect"]] == [round(side) for side in place.box]
    face = PdfReader(BytesIO(signature_face(place, "K. Sample", NOW, WORDING))).pages[0].extract_text()
    assert "K. Sample" in face
    assert f"{NOW:%Y-%m-%d}" in face


def test_long_name_fits_its_place() -> None:
    """The letters grow smaller."""
    signature_face(printed().places[-1], "Name " * 40, NOW, WORDING)


def test_signed_certificate_verifies() -> None:
    """With the authority trusted everything holds; without, trust is left open."""
    found = checks(signed_by(), authority().pem())
    assert {check.outcome for check in found.values()} == {"held"}
    assert outcomes(signed_by()) == {"appended": "held", "signature": "held", "trust": "remark"}


def test_signer_of_another_authority_is_not_trusted() -> None:
    """Somebody else's word."""
    assert outcomes(signed_by(), authority("Another Authority").pem())["trust"] == "differs"


def test_signature_that_was_cut_off_is_missed_where_somebody_is_trusted() -> None:
    """What is left is the certificate as issued, which nobody has signed; without trust that is no fault."""
    cut = carried(signed_by()).base
    assert outcomes(cut) == {"appended": "held"}
    assert outcomes(cut, authority().pem()) == {"appended": "held", "trust": "differs"}


@pytest.mark.parametrize("encoding", [Encoding.PEM, Encoding.DER])
def test_trusted_certificate_must_be_one(encoding: Encoding) -> None:
    """A text, a key, nothing at all: wrong usage."""
    key = signer().key.private_bytes(encoding, PrivateFormat.PKCS8, NoEncryption())
    for data in (b"no certificate", b"", key):
        with pytest.raises(WrongUsage, match="holds no certificate"):
            checks(signed_by(), data)
    assert len(authorities(authority().certificate.public_bytes(encoding))) == 1


def test_changed_byte_breaks_the_signature() -> None:
    """The moment of signing, in the signed part but no part of the certificate as issued."""
    at = signed_by().index(b"/M (D") + len(b"/M (D\\0722")
    data = signed_by()[:at] + b"1" + signed_by()[at + 1 :]
    assert outcomes(data)["signature"] == "differs"


@pytest.mark.parametrize("sign", [b" ", b"1"])
def test_space_left_over_holds_nothing(sign: bytes) -> None:
    """What no signature can cover, the place of the signature itself, is filled with zeros."""
    at = signed_by().index(b"/ByteRange") - 40
    assert outcomes(signed_by()[:at] + sign + signed_by()[at + 1 :])["signature"] == "differs"


@pytest.mark.parametrize("before", [True, False])
def test_addition_beside_a_signature_is_found(before: bool) -> None:
    """A note put over a page, before it is signed or after."""
    noted = with_note(printed().pdf if before else signed_by())
    if before:
        key = key_of(key_file(signer()), PASSPHRASE.encode(), NOW)
        face = signature_face(printed().places[-1], name_of(key), NOW, WORDING)
        noted = signed(replace(printed(), pdf=noted), key, face)
    assert outcomes(noted)["appended"] == "differs"


def with_note(data: bytes) -> bytes:
    """Return the file with a text laid over its first page, in an update of its own."""
    writer = PdfWriter(BytesIO(data), incremental=True)
    writer.add_annotation(0, FreeText(text="pass", rect=(100, 600, 200, 640)))
    buffer = BytesIO()
    writer.write(buffer)
    return buffer.getvalue()


def test_signature_outside_its_place_is_found() -> None:
    """It might cover what is printed there."""
    place = printed().places[-1]
    left, bottom, right, top = place.box
    moved = type(place)(1, (left, bottom + 200, right, top + 260))
    key = key_of(key_file(signer()), PASSPHRASE.encode(), NOW)
    data = signed(replace(printed(), places=(moved,)), key, signature_face(moved, "K. Sample", NOW, WORDING))
    assert outcomes(data)["appended"] == "differs"


def test_bytes_after_a_signature_are_found() -> None:
    """A signature must be the last thing in the file."""
    assert "differs" in outcomes(signed_by() + b"% more\n").values()


def test_key_needs_its_passphrase() -> None:
    """Another one, or none at all."""
    for passphrase in (b"another", None):
        with pytest.raises(WrongUsage, match="passphrase"):
            key_of(key_file(signer()), passphrase, NOW)


def test_key_out_of_date_is_refused() -> None:
    """The signature would not be worth anything."""
    with pytest.raises(WrongUsage, match="holds from"):
        key_of(key_file(signer("Late", -30)), PASSPHRASE.encode(), NOW)


def stamper(authority_name: str, moment: datetime | None = None) -> DummyTimeStamper:
    """Return a time stamper whose certificate that authority gave, its clock at a moment, else right."""
    owner = time_stamper(authority_name)
    raw = owner.key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    return DummyTimeStamper(
        tsa_cert=next(iter(load_certs_from_pemder_data(owner.pem()))),
        tsa_key=load_private_key_from_pemder_data(raw, None),
        certs_to_embed=SimpleCertificateStore.from_certs(
            load_certs_from_pemder_data(authority(authority_name).pem())
        ),
        fixed_dt=moment,
    )


@contextmanager
def time_service(authority_name: str = "Example Authority", moment: datetime | None = None) -> Iterator[str]:
    """Run a time-stamp service (RFC 3161) on this machine; gives its address."""
    stamps = stamper(authority_name, moment)

    class Answers(BaseHTTPRequestHandler):
        def do_POST(self) -> None:  # the library's name
            asked = tsp.TimeStampReq.load(self.rfile.read(int(self.headers["Content-Length"])))
            answer = stamps.request_tsa_response(asked).dump()
            self.send_response(200)
            self.send_header("Content-Type", "application/timestamp-reply")
            self.end_headers()
            self.wfile.write(answer)

        def log_message(self, *_: object) -> None:
            """Say nothing."""

    server = HTTPServer(("127.0.0.1", 0), Answers)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def test_time_stamp_is_put_into_the_signature(tmp_path: Path) -> None:
    """The moment is then the service's word, and the file is still PDF/A."""
    key = key_of(key_file(signer()), PASSPHRASE.encode(), NOW)
    face = signature_face(printed().places[-1], name_of(key), NOW, WORDING)
    with time_service() as address:
        data = signed(printed(), key, face, address)
    found = checks(data, authority().pem())
    assert {check.outcome for check in found.values()} == {"held"}
    assert "stamped" in found["signature"].text
    assert "judged at its time stamp" in found["trust"].text
    assert_valid(tmp_path, {"stamped": data})


def signed_as(owner: Owner, address: str | None = None) -> bytes:
    """Return a certificate signed with a key whose own dates do not matter here."""
    key = SimpleSigner.load_pkcs12_data(key_file(owner), other_certs=(), passphrase=PASSPHRASE.encode())
    return signed(printed(), key, signature_face(printed().places[-1], name_of(key), NOW, WORDING), address)


def test_signer_whose_certificate_has_expired_is_told_so() -> None:
    """Without a time stamp nobody can say whether it was signed before."""
    found = checks(signed_as(signer("Late", -30)), authority().pem())["trust"]
    assert (found.outcome, "is expired since" in found.text) == ("differs", True)


def test_signature_is_judged_at_its_time_stamp() -> None:
    """The signer's certificate has expired since; it held when the time was stamped."""
    late = signer("Late", -1 / 24)
    with time_service(moment=NOW - timedelta(hours=12)) as address:
        data = signed_as(late, address)
    assert checks(data, authority().pem())["trust"].outcome == "held"


def test_time_stamp_of_nobody_trusted_does_not_count() -> None:
    """Whoever signs could run a service that stamps any time."""
    with time_service("Another Authority", NOW - timedelta(hours=12)) as address:
        data = signed_as(signer("Late", -1 / 24), address)
    found = checks(data, authority().pem())["trust"]
    assert (found.outcome, "is expired since" in found.text) == ("differs", True)


def test_signer_whose_certificate_is_not_yet_valid_is_told_so() -> None:
    """Signed too early."""
    found = checks(signed_as(signer("Early", 30, first=10)), authority().pem())["trust"]
    assert (found.outcome, "is not yet valid before" in found.text) == ("differs", True)


def test_untrusted_and_unknown_are_two_words() -> None:
    """The authority is another one, or none was named."""
    assert "is untrusted" in checks(signed_by(), authority("Another Authority").pem())["trust"].text
    assert "is unknown" in checks(signed_by())["trust"].text


def with_store(data: bytes, *lists: bytes) -> bytes:
    """Return the signed file with a store of certificates and of what was revoked (PAdES B-LT)."""
    buffer = BytesIO(data)
    certificates = load_certs_from_pemder_data(authority().pem())
    crls = [crl.CertificateList.load(one) for one in lists]
    DocumentSecurityStore.add_dss(buffer, sig_contents=None, certs=certificates, crls=crls)
    return buffer.getvalue()


def test_signer_whose_certificate_was_revoked_is_told_so() -> None:
    """As the list says which the file brings along; the store itself is no tampering."""
    one = signer("Gone")
    found = checks(with_store(signed_as(one), revocations(one)), authority().pem())
    assert (found["appended"].outcome, found["signature"].outcome) == ("held", "held")
    assert (found["trust"].outcome, "was revoked on" in found["trust"].text) == ("differs", True)
    sound = checks(with_store(signed_as(one), revocations()), authority().pem())
    assert {check.outcome for check in sound.values()} == {"held"}


def test_time_stamp_of_the_document_is_no_tampering() -> None:
    """A store and a stamp over all of it keep a signature checkable (PAdES B-LTA)."""
    stored = BytesIO(with_store(signed_as(signer("Kept")), revocations()))
    stamps = stamper("Example Authority")
    PdfTimeStamper(stamps).timestamp_pdf(IncrementalPdfFileWriter(stored), "sha256", in_place=True)
    found = checks(stored.getvalue(), authority().pem())
    assert {check.outcome for check in found.values()} == {"held"}, found


def test_silent_time_service_is_an_error() -> None:
    """Nothing is signed without the stamp that was asked for."""
    key = key_of(key_file(signer()), PASSPHRASE.encode(), NOW)
    face = signature_face(printed().places[-1], name_of(key), NOW, WORDING)
    with pytest.raises(TimestampRequestError):
        signed(printed(), key, face, "http://127.0.0.1:9/")


def test_signature_that_cannot_be_checked_is_no_verification(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the library nobody can say whether it holds, so the certificate does not verify."""
    monkeypatch.setattr("certgen.verify.incremental_updates.find_spec", lambda _: None)
    found = checks(signed_by())["signature"]
    assert found.outcome == "differs"
    assert "pip install" in found.text
