"""The signatures of a certificate: whole, by whom, and whether that is somebody trusted."""

import re
from collections.abc import Iterator, Sequence
from datetime import datetime
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

from certgen.certificate.face_check import Seen, face, stamp_face
from certgen.certificate.sign import name_in
from certgen.certificate.verification import Check, differs, held, remark
from certgen.certificate.wording import Wording
from certgen.errors import WrongUsage

# in one case of letters: where both would mean the same, a byte could be another unnoticed
_HEXADECIMAL = re.compile(rb"<(?:(?:[0-9A-F]{2})+|(?:[0-9a-f]{2})+)>")


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
