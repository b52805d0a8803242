"""What was appended to a certificate after it was issued: nothing, or signatures in the places for them."""

from collections.abc import Iterator, Sequence
from importlib.util import find_spec
from io import BytesIO
from typing import Any

from pypdf import PdfReader
from pypdf.generic import DictionaryObject

from certgen.certificate.carried import Carried
from certgen.certificate.verification import Check, differs, held
from certgen.certificate.verify_objects import differences

# what a signature adds to the catalog (ISO 32000-1:2008, 12.7.2 and 7.12); all else must stay as issued
_OF_A_SIGNATURE = ("/AcroForm", "/Extensions")
_FORM_KEYS = {"/Fields", "/SigFlags"}
_NEVER = {"/A", "/AA", "/JS"}  # actions: a signature has none


def appended(certificate: Carried, places: Sequence[Any], trust: Sequence[bytes] = ()) -> Iterator[Check]:
    """Yield the checks of what follows the certificate as issued.

    `places` are those to sign, each page, left, bottom, right, top in points; `trust` are the certificates of
    trusted authorities: where there are some, the certificate has to be signed, or its signature may have
    been cut off.
    """
    if not certificate.appended:
        yield held("appended", "Nothing was appended to the certificate; it is not signed")
        if trust:
            yield differs(
                "trust",
                "There is no signature, so none of anybody to whom a trusted authority gave a certificate",
            )
        return
    whole = PdfReader(BytesIO(certificate.data))
    if "/AcroForm" not in whole.root_object:
        text = (
            f"{len(certificate.appended)} bytes were appended to the certificate, and they are no signature"
        )
        yield differs("appended", text)
        return
    yield _beside(tuple(_beside_signatures(certificate, whole, places)))
    if find_spec("pyhanko") is None:
        text = "The certificate is signed, and that cannot be checked here: pip install 'certgen[sign]'"
        yield differs("signature", text)
        return
    from certgen.certificate.verify_signature import signatures

    yield from signatures(certificate.data, trust)


def _beside(faults: Sequence[str]) -> Check:
    if faults:
        return differs("appended", "More than a signature was added to the certificate", faults)
    return held("appended", "Nothing but signatures in their places was added to the certificate")


def _beside_signatures(certificate: Carried, whole: PdfReader, places: Sequence[Any]) -> Iterator[str]:
    yield from differences(certificate.reader, whole, _may_differ)
    form = whole.root_object.get("/AcroForm", DictionaryObject()).get_object()
    yield from (f"a form with {key}" for key in sorted({*form} - _FORM_KEYS))
    for number, page in enumerate(whole.pages, 1):
        for annotation in page.get("/Annots", ()):
            yield from _odd(number, annotation.get_object(), places)


def _may_differ(path: str, key: str) -> bool:
    return (path == "/Root" and key in _OF_A_SIGNATURE) or key == "/Annots"


def _odd(page: int, annotation: DictionaryObject, places: Sequence[Any]) -> Iterator[str]:
    """What about an annotation is not that of a signature in its place."""
    if annotation.get("/Subtype") != "/Widget" or annotation.get("/FT") != "/Sig":
        yield f"page {page}: an annotation {annotation.get('/Subtype')}"
    elif {*annotation} & _NEVER:
        yield f"page {page}: a signature with an action"
    elif not any(_lies_in(page, annotation["/Rect"], place) for place in places):
        yield f"page {page}: a signature that is not in a place for it"


def _lies_in(page: int, box: Any, place: Any) -> bool:
    """Tell whether a rectangle lies in a place, up to rounding to whole points."""
    number, left, bottom, right, top = place
    return bool(
        page == number
        and left - 1 <= box[0] <= box[2] <= right + 1
        and bottom - 1 <= box[1] <= box[3] <= top + 1
    )
