"""The signatures of a certificate: whole, by whom, whether that is somebody trusted, and their look.

A picture of a signature's own may say anything, over the name of anybody, and lies in no page compared.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import partial
from io import BytesIO
from typing import Any

from cryptography.exceptions import InvalidSignature
from cryptography.x509 import Certificate, load_der_x509_certificate, load_der_x509_crl
from pyhanko.keys import load_certs_from_pemder_data
from pyhanko.pdf_utils.misc import PdfError
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.validation import (
    DocumentSecurityStore,
    PdfSignatureStatus,
    SignatureCoverageLevel,
    validate_pdf_signature,
    validate_pdf_timestamp,
)
from pyhanko.sign.validation.errors import NoDSSFoundError, SignatureValidationError
from pyhanko.sign.validation.pdf_embedded import EmbeddedPdfSignature
from pyhanko_certvalidator import ValidationContext
from pypdf import PageObject, PdfReader
from pypdf.generic import DictionaryObject, StreamObject

from certgen.errors import WrongUsage
from certgen.figures.fonts import hints_kept
from certgen.pdf.canvas import SignaturePlace
from certgen.signature.sign import name_in, signature_face
from certgen.verify.allowed_objects import same
from certgen.verify.compare_contents import Check, differs, held, remark
from certgen.wording.wording import Wording

_LONGEST = 300  # letters of a picture that are told
_DRAWN = b"q q /BackgroundGS gs 1 0 0 1 0 0 cm /Face Do Q Q"  # around the face, as the library writes it
_PLAIN = {"/BackgroundGS": {"/CA": 1, "/ca": 1}}
_OUTER = {"/BBox", "/Resources", "/Type", "/Subtype", "/Length", "/Filter"}
_INNER = _OUTER
_MOMENT = re.compile(rb"\d{4}-\d\d-\d\d \d\d:\d\d UTC")
_LONGEST_RUN = timedelta(days=1)  # a face names the moment when the program was started
# in one case of letters: where both would mean the same, a byte could be another unnoticed
_HEXADECIMAL = re.compile(rb"<(?:(?:[0-9A-F]{2})+|(?:[0-9a-f]{2})+)>")


@dataclass(frozen=True, slots=True)
class Seen:
    """The field of a signature or time stamp as the page shows it, and where its signature stands."""

    field: DictionaryObject

    @classmethod
    def of(cls, data: bytes, byte_range: Sequence[int]) -> "Seen":
        """Return the field whose signature covers these bytes; ValueError where there is none."""
        form = PdfReader(BytesIO(data)).root_object["/AcroForm"].get_object()
        for each in form["/Fields"]:  # type: ignore[index]  # a dictionary
            field = each.get_object()
            value = field.get("/V", DictionaryObject()).get_object()
            if list(map(int, value.get("/ByteRange", ()))) == list(map(int, byte_range)):
                return cls(field)
        raise ValueError("its field is not in the form")

    @property
    def box(self) -> list[float]:
        """Its rectangle on the page, in points."""
        return [float(side) for side in self.field.get("/Rect", ())]

    @property
    def is_seen(self) -> bool:
        """Whether its rectangle covers anything."""
        box = self.box
        return len(box) != 4 or box[0] != box[2] or box[1] != box[3]

    def says(self) -> str:
        """Return the text of the picture, in one line; it may be a drawing without any."""
        picture = self._picture()
        if picture is None:
            return ""
        text = PageObject.create_blank_page(None, 1, 1).extract_xform_text(picture)  # type: ignore[arg-type]
        return " ".join(text.split())[:_LONGEST]

    def is_ours(self, name: str, wording: Wording | None) -> bool:
        """Tell whether it is what certgen draws for a signer of that name, with that moment."""
        outer = self._picture()
        if wording is None or outer is None or {*self.field["/AP"]} != {"/N"}:  # type: ignore[misc]  # a dictionary
            return False
        resources: Any = outer.get("/Resources", DictionaryObject()).get_object()
        drawn: Any = resources.get("/XObject", DictionaryObject()).get_object()
        if {*outer} - _OUTER or outer.get_data() != _DRAWN or {*drawn} != {"/Face"}:
            return False
        if {*resources} != {"/ExtGState", "/XObject"} or resources["/ExtGState"] != _PLAIN:
            return False
        inner, box = drawn["/Face"].get_object(), self.box
        moment = self._moment(inner.get_data())
        if {*inner} - _INNER or moment is None or not self._fills(outer, inner):
            return False
        place = SignaturePlace(1, (box[0], box[1], box[2], box[3]))
        faces = [signature_face(place, name, moment, wording)]
        with hints_kept():  # a face of certgen 0.1
            faces.append(signature_face(place, name, moment, wording))
        return any(_draws(inner, face) for face in faces)

    def _picture(self) -> StreamObject | None:
        looks = self.field.get("/AP", DictionaryObject()).get_object()
        found = looks.get("/N") if isinstance(looks, DictionaryObject) else None
        stream = None if found is None else found.get_object()
        return stream if isinstance(stream, StreamObject) else None

    def _fills(self, *pictures: StreamObject) -> bool:
        """Whether both are as large as the place, so that nothing is stretched or cut off."""
        left, bottom, right, top = self.box
        wanted = [0.0, 0.0, right - left, top - bottom]
        corners = [[float(side) for side in one["/BBox"]] for one in pictures]  # type: ignore[attr-defined]
        return all(
            [*map(min, each[:2], each[2:]), *map(max, each[:2], each[2:])] == wanted for each in corners
        )

    def _moment(self, content: bytes) -> datetime | None:
        """The moment in the face, where it is that of the signature."""
        told = _MOMENT.search(content)
        value: Any = self.field["/V"].get_object()
        said = re.fullmatch(r"D:(\d{14})(Z|\+00'00'?)?", str(value.get("/M", "")))
        if told is None or said is None:
            return None
        moment = datetime.strptime(told[0].decode(), "%Y-%m-%d %H:%M UTC").replace(tzinfo=UTC)
        signed = datetime.strptime(said[1], "%Y%m%d%H%M%S").replace(tzinfo=UTC)
        return moment if moment <= signed <= moment + _LONGEST_RUN else None


def _draws(picture: Any, face: bytes) -> bool:
    """Whether a picture is drawn as a face is, with its fonts."""
    page = PdfReader(BytesIO(face)).pages[0]
    content = page.get_contents()
    alike = content is not None and content.get_data() == picture.get_data()
    return alike and same(picture["/Resources"], page["/Resources"])


def face(seen: Seen, name: str, wording: Wording | None, trusting: bool) -> Iterator[Check]:
    """Yield what is wrong with the picture of a signature; with authorities to trust it is a fault."""
    if seen.is_seen and not seen.is_ours(name, wording):
        text = f"The signature's own picture says: {seen.says() or 'nothing that can be read as text'}"
        told = f"certgen draws another for {name}; only what the checks say of a signature counts"
        yield differs("face", text, (told,)) if trusting else remark("face", text, (told,))


def stamp_face(seen: Seen) -> Iterator[Check]:
    """Yield a fault where a time stamp of the document is seen on a page: none that belongs here is."""
    if seen.is_seen:
        said = seen.says() or "nothing that can be read as text"
        yield differs("face", f"A time stamp shows itself on a page, and says: {said}")


def signatures(data: bytes, trust: Sequence[bytes], wording: Wording | None) -> Iterator[Check]:
    """Yield the checks of every signature; `trust` are the certificates of trusted authorities (PEM or DER).

    A signature is judged at the moment of a time stamp of a trusted authority, where it has one, else now.
    Nothing is fetched: what certificates were revoked is known only where the file brings it along (DSS).
    `wording` are the words that certgen draws a signature with, None where they are not known.
    """
    reader = PdfFileReader(BytesIO(data))
    known = _Known([one for data in trust for one in authorities(data)], reader)
    found, stamps = reader.embedded_regular_signatures, reader.embedded_timestamp_signatures
    if not found:
        yield differs("signature", "What was appended to the certificate is no signature")
    moments = [known.stamped(one) for one in stamps]
    for stamp, moment in zip(stamps, moments, strict=True):
        yield from stamp_face(Seen.of(data, stamp.byte_range))
        yield _stamp(stamp, moment, known)
    for signature in found:
        try:
            yield from _judged(signature, known, [one[0] for one in moments if one is not None and one[1]])
            seen = Seen.of(data, signature.byte_range)
            yield from face(seen, name_in(signature.signer_cert), wording, bool(known.roots))
            if not _sound_certificates(signature):
                yield differs("signature", "A certificate that the signature brings along was changed")
        except (SignatureValidationError, PdfError, ValueError) as error:
            yield differs("signature", "A signature cannot be read", (str(error),))
    for signature in (*found, *stamps):
        if not _filled_with_zeros(data, signature):
            yield differs("signature", "Something was written into the space that the signature left over")


class _Known:
    """What is known for judging: authorities to trust, and what the file tells of certificates."""

    def __init__(self, roots: Sequence[Any], reader: PdfFileReader) -> None:
        self.roots = list(roots)
        try:
            self._store: DocumentSecurityStore | None = DocumentSecurityStore.read_dss(reader)
        except (NoDSSFoundError, PdfError, ValueError):
            self._store = None

    def at(self, moment: datetime | None) -> ValidationContext:
        """Return what a signature is judged with at a moment, now where None."""
        how: dict[str, Any] = {"trust_roots": self.roots, "allow_fetching": False}
        if moment is not None:
            how |= {"moment": moment, "retroactive_revinfo": True}
        if self._store is None:
            return ValidationContext(**how)
        return self._store.as_validation_context(how)

    def revoked(self, one: Certificate) -> datetime | None:
        """Return when a certificate was revoked, by a list in the file that its trusted issuer has signed."""
        roots = [load_der_x509_certificate(root.dump()) for root in self.roots]
        for found in () if self._store is None else self._store.crls:
            listed = load_der_x509_crl(found.get_object().data)
            keys = [root.public_key() for root in roots if root.subject == listed.issuer == one.issuer]
            entry = listed.get_revoked_certificate_by_serial_number(one.serial_number)
            if entry is not None and any(listed.is_signature_valid(key) for key in keys):  # type: ignore[arg-type]
                return entry.revocation_date_utc
        return None

    def stamped(self, stamp: Any) -> tuple[datetime, bool] | None:
        """Return the moment of a time stamp of the document and whether it is good; None if it fails."""
        try:
            status = validate_pdf_timestamp(stamp, self.at(None))
        except (SignatureValidationError, PdfError, ValueError):
            return None
        whole = (status.coverage or 0) >= SignatureCoverageLevel.ENTIRE_REVISION
        if not (status.intact and status.valid and whole):
            return None
        return status.timestamp, bool(self.roots and status.trusted)


def _stamp(stamp: Any, moment: tuple[datetime, bool] | None, known: _Known) -> Check:
    """By whom a time stamp of the whole document was given, and whether that is somebody trusted."""
    name = name_in(stamp.signer_cert)
    if moment is None:
        return differs("signature", f"The time stamp of the whole document by {name} does not hold")
    text = f"{name} has stamped the whole document, {moment[0]:%Y-%m-%d %H:%M %Z}"
    if moment[1]:
        return held("time stamp", f"{text}; its certificate was given by a trusted authority")
    who = "untrusted: no authority that --trust names has given its certificate" if known.roots else "unknown"
    return remark("time stamp", f"{text}, and counts for nothing: who that is, is {who}")


def _judged(signature: EmbeddedPdfSignature, known: _Known, moments: Sequence[datetime]) -> Iterator[Check]:
    """Whether it is whole, and whose it is at the earliest good time stamp."""
    status = validate_pdf_signature(signature, known.at(None))
    yield _whole(signature, status)
    stamp = status.timestamp_validity
    good = [stamp.timestamp] if stamp is not None and stamp.intact and stamp.valid and stamp.trusted else []
    moment = min((*good, *moments), default=None) if known.roots else None
    if moment is not None:
        status = validate_pdf_signature(signature, known.at(moment), known.at(None))
    yield _trusted(status, known, moment)


def authorities(data: bytes) -> list[Any]:
    """Return the certificates in a file of trusted ones (PEM or DER); WrongUsage where it holds none."""
    try:
        found = list(load_certs_from_pemder_data(data))
        for one in found:
            one.native  # noqa: B018  # it is read only where it is asked for
    except (ValueError, TypeError) as error:
        raise WrongUsage(f"holds no certificate that can be read: {error}") from None
    if not found:
        raise WrongUsage("holds no certificate.")
    return found


def _whole(signature: EmbeddedPdfSignature, status: PdfSignatureStatus) -> Check:
    """What is signed is what stands there; what follows only keeps it valid, or are further signatures."""
    name = _name(status)
    whole = (status.coverage or 0) >= SignatureCoverageLevel.ENTIRE_REVISION
    stamp = status.timestamp_validity
    if not (status.intact and status.valid) or not whole or not status.docmdp_ok:
        return differs("signature", f"The signature of {name} does not hold", (status.summary(),))
    if stamp is not None and not (stamp.intact and stamp.valid):
        return differs("signature", f"The time stamp of the signature of {name} does not hold")
    moment = stamp.timestamp if stamp is not None else signature.self_reported_timestamp
    how = "stamped" if stamp is not None else "as the signer says"
    when = f"{moment:%Y-%m-%d %H:%M %Z}, {how}" if moment is not None else "at a time that it does not say"
    return held("signature", f"The signature of {name} covers all of the file ({when})")


def _sound_certificates(signature: EmbeddedPdfSignature) -> bool:
    """Whether each certificate brought along is as its issuer, where that is there too, has signed it.

    The signature itself does not cover them.
    """
    try:
        given = [one.chosen.dump() for one in signature.signed_data["certificates"]]
        every = [load_der_x509_certificate(one) for one in given]
        return all(map(partial(_is_issued, every), every))
    except (ValueError, TypeError):
        return False


def _is_issued(every: Sequence[Certificate], one: Certificate) -> bool:
    issuers = [other for other in every if other.subject == one.issuer]
    for issuer in issuers:
        try:
            one.verify_directly_issued_by(issuer)
        except (ValueError, TypeError, InvalidSignature):
            continue
        return True
    return not issuers


def _filled_with_zeros(data: bytes, signature: EmbeddedPdfSignature) -> bool:
    """Tell whether nothing but zeros follows the signature in its place, the only part that nothing covers.

    How long it is say its first bytes (ISO/IEC 8825-1, 8.1.3).
    """
    _, first, second, _ = signature.byte_range
    place = data[first:second]
    if not _HEXADECIMAL.fullmatch(place):
        return False
    content = bytes.fromhex(place[1:-1].decode())
    size = content[1] & 0x7F if content[1] & 0x80 else 0
    end = 2 + size + (int.from_bytes(content[2 : 2 + size]) if size else content[1])
    return not any(content[end:])


def _trusted(status: PdfSignatureStatus, known: _Known, moment: datetime | None) -> Check:
    """Whose signature it is: trusted, revoked, expired, not yet valid, untrusted or unknown."""
    name, period = _name(status), status.signing_cert["tbs_certificate"]["validity"]
    first, last = period["not_before"].native, period["not_after"].native
    judged = moment or known.at(None).moment
    at = (
        f"judged at its time stamp, {moment:%Y-%m-%d}"
        if moment
        else "judged now, for want of a good time stamp"
    )
    since = known.revoked(load_der_x509_certificate(status.signing_cert.dump()))
    if since is not None and since <= judged:
        return differs("trust", f"The certificate of {name} was revoked on {since:%Y-%m-%d} ({at})")
    if known.roots and status.trusted:
        return held("trust", f"The certificate of {name} was given by a trusted authority ({at})")
    issuer = f"the certificate was given by {status.signing_cert.issuer.human_friendly}"
    if not known.roots:
        odd = [f"it is expired since {last:%Y-%m-%d}"] if judged > last else []
        text = f"Who {name} is, is unknown: it was not checked; --trust names authorities to trust"
        return remark("trust", text, (issuer, *odd))
    if judged > last:
        return differs(
            "trust", f"The certificate of {name} is expired since {last:%Y-%m-%d} ({at})", (issuer,)
        )
    if judged < first:
        return differs("trust", f"The certificate of {name} is not yet valid before {first:%Y-%m-%d} ({at})")
    text = f"The certificate of {name} is untrusted: no authority that --trust names has given it"
    return differs("trust", text, (issuer,))


def _name(status: PdfSignatureStatus) -> str:
    return name_in(status.signing_cert)
