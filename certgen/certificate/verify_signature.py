"""The signatures of a certificate: whole, by whom, and whether that is somebody trusted."""

import re
from collections.abc import Iterator, Sequence
from io import BytesIO
from typing import Any

from pyhanko.keys import load_certs_from_pemder_data
from pyhanko.pdf_utils.misc import PdfError
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.validation import PdfSignatureStatus, SignatureCoverageLevel, validate_pdf_signature
from pyhanko.sign.validation.errors import SignatureValidationError
from pyhanko.sign.validation.pdf_embedded import EmbeddedPdfSignature
from pyhanko_certvalidator import ValidationContext

from certgen.certificate.verification import Check, differs, held, remark
from certgen.errors import WrongUsage

_HEXADECIMAL = re.compile(rb"<(?:[0-9a-fA-F]{2})+>")


def signatures(data: bytes, trust: Sequence[bytes]) -> Iterator[Check]:
    """Yield the checks of every signature; `trust` are the certificates of trusted authorities (PEM or DER).

    Nothing is fetched. Whether a certificate was revoked is not looked up.
    """
    roots = [one for data in trust for one in authorities(data)]
    found = PdfFileReader(BytesIO(data)).embedded_regular_signatures
    if not found:
        yield differs("signature", "What was appended to the certificate is no signature")
    for signature in found:
        try:
            status = validate_pdf_signature(
                signature, ValidationContext(trust_roots=roots, allow_fetching=False)
            )
        except (SignatureValidationError, PdfError, ValueError) as error:
            yield differs("signature", "A signature cannot be read", (str(error),))
            continue
        yield _whole(signature, status, last=signature is found[-1])
        if not _filled_with_zeros(data, signature):
            yield differs("signature", "Something was written into the space that the signature left over")
        yield _trusted(status, asked=bool(roots))


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


def _whole(signature: EmbeddedPdfSignature, status: PdfSignatureStatus, *, last: bool) -> Check:
    """What is signed is what stands there, and nothing follows but further signatures."""
    name = _name(status)
    covers = SignatureCoverageLevel.ENTIRE_FILE if last else SignatureCoverageLevel.ENTIRE_REVISION
    stamp = status.timestamp_validity
    if not (status.intact and status.valid) or (status.coverage or 0) < covers or not status.docmdp_ok:
        return differs("signature", f"The signature of {name} does not hold", (status.summary(),))
    if stamp is not None and not (stamp.intact and stamp.valid):
        return differs("signature", f"The time stamp of the signature of {name} does not hold")
    moment = stamp.timestamp if stamp is not None else signature.self_reported_timestamp
    how = "stamped" if stamp is not None else "as the signer says"
    return held(
        "signature", f"The signature of {name} covers all of the file ({moment:%Y-%m-%d %H:%M %Z}, {how})"
    )


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


def _trusted(status: PdfSignatureStatus, *, asked: bool) -> Check:
    name = _name(status)
    if status.trusted:
        return held("trust", f"The certificate of {name} was given by a trusted authority")
    if asked:
        return differs("trust", f"The certificate of {name} was not given by a trusted authority")
    issuer = status.signing_cert.issuer.human_friendly
    text = f"Whether {name} is who the signature says was not checked; --trust names authorities to trust"
    return remark("trust", text, (f"the certificate was given by {issuer}",))


def _name(status: PdfSignatureStatus) -> str:
    subject = status.signing_cert.subject.native
    return str(subject.get("common_name") or status.signing_cert.subject.human_friendly)
