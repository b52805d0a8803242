"""An electronic signature in the last place to sign, and what is seen of it: PAdES, baseline B.

It is appended to the file as an update of its own, so that the certificate as issued stays byte for byte;
what is seen of it is drawn with the certificate's own embedded fonts, as PDF/A-3 asks of every annotation.
"""

import asyncio
from datetime import datetime
from hashlib import sha256
from io import BytesIO
from typing import Any

from pyhanko.pdf_utils.content import ImportedPdfPage
from pyhanko.pdf_utils.generic import ArrayObject, DictionaryObject, NameObject, NumberObject, PdfObject
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.layout import AxisAlignment, BoxConstraints, Margins, SimpleBoxLayoutRule
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.fields import SigFieldSpec, SigSeedSubFilter, append_signature_field
from pyhanko.sign.signers import PdfSignatureMetadata, PdfSigner, SimpleSigner
from pyhanko.sign.timestamps import HTTPTimeStamper
from pyhanko.stamp import StaticStampStyle
from reportlab.pdfgen.canvas import Canvas

from certgen.errors import WrongUsage
from certgen.figures.look import BODY, GREY, INK, load_fonts, width_of
from certgen.pdf.canvas import SignaturePlace
from certgen.pdf.pdf_document import Printed
from certgen.wording.wording import Wording

_NAME, _REST, _LEAST = 8.4, 6.4, 4.0  # sizes in points
FIELD = "Approval"


def signature_face(place: SignaturePlace, name: str, moment: datetime, wording: Wording) -> bytes:
    """Return a page as large as the place, with the signer's name and the moment of signing."""
    load_fonts()
    left, bottom, right, top = (round(side) for side in place.box)
    buffer = BytesIO()
    canvas = Canvas(buffer, pagesize=(right - left, top - bottom), invariant=1, initialFontName=BODY)
    signed = f"{moment:%Y-%m-%d %H:%M} {moment.tzname()}, PAdES"
    lines = (
        (wording.word("titled", title=wording.word("signature"), text=name), _NAME, 15.0),
        (wording.word("titled", title=wording.word("date"), text=signed), _REST, 5.0),
    )
    for text, size, above in lines:
        canvas.setFillColor(INK if size == _NAME else GREY)
        # a size at which the text fits
        fitting = max(_LEAST, min(size, size * (right - left - 4.0) / width_of(text, BODY, size)))
        canvas.setFont(BODY, fitting)
        canvas.drawString(0.0, above, text)
    canvas.save()
    return buffer.getvalue()


class _Update(IncrementalPdfFileWriter):
    """An update that leaves document information and metadata as they are."""

    def _update_meta(self) -> None:
        pass


class _Face(ImportedPdfPage):
    """A drawn page as content."""

    def __init__(self, pdf: bytes, width: float, height: float) -> None:
        super().__init__("")  # type: ignore[no-untyped-call]
        self._pdf = pdf
        self.box = BoxConstraints(width=round(width), height=round(height))

    def render(self) -> bytes:
        assert self.writer is not None  # noqa: S101  # set before anything is drawn
        page = self.writer.import_page_as_xobject(PdfFileReader(BytesIO(self._pdf)))
        self.resources.xobject["/Face"] = page
        return b"/Face Do"


def key_of(data: bytes, passphrase: bytes | None, moment: datetime) -> SimpleSigner:
    """Return the signer in a PKCS #12 file.

    Raises WrongUsage where it holds none, the passphrase is another, or its certificate is out of date at
    `moment`.
    """
    try:
        signer: SimpleSigner = SimpleSigner.load_pkcs12_data(data, other_certs=(), passphrase=passphrase)
    except ValueError as error:
        raise WrongUsage(f"the key cannot be used, or the passphrase is another: {error}") from None
    period = _certificate(signer)["tbs_certificate"]["validity"]
    first, last = period["not_before"].native, period["not_after"].native
    if not first <= moment <= last:
        raise WrongUsage(f"the certificate of the key holds from {first:%Y-%m-%d} to {last:%Y-%m-%d} only.")
    return signer


def name_of(signer: SimpleSigner) -> str:
    """Return the name in the signer's certificate."""
    return name_in(_certificate(signer))


def name_in(certificate: Any) -> str:
    """Return the name of whom a certificate was given to."""
    subject = certificate.subject
    return str(subject.native.get("common_name") or subject.human_friendly)


def _certificate(signer: SimpleSigner) -> Any:
    certificate = signer.signing_cert
    assert certificate is not None  # noqa: S101  # a key that was loaded has one
    return certificate


def signed(
    printed: Printed, signer: SimpleSigner, face: bytes, timestamp: str | None = None, *, title: str = FIELD
) -> bytes:
    """Return the certificate with a signature, and with a time stamp of a service (RFC 3161) if one is named.

    `face` is what is seen of it, a page as large as the place, `title` what is read aloud of it. Raises
    OSError where the service gives none.
    """
    place = printed.places[-1]
    left, bottom, right, top = (round(side) for side in place.box)
    writer = _Update(BytesIO(printed.pdf))
    whole = SimpleBoxLayoutRule(
        x_align=AxisAlignment.ALIGN_MIN, y_align=AxisAlignment.ALIGN_MIN, margins=Margins()
    )
    style = StaticStampStyle(
        border_width=0, background=_Face(face, right - left, top - bottom), background_layout=whole
    )
    append_signature_field(writer, SigFieldSpec(FIELD, on_page=place.page - 1, readable_field_name=title))
    _place(writer, (left, bottom, right, top))
    maker = PdfSigner(
        PdfSignatureMetadata(field_name=FIELD, md_algorithm="sha256", subfilter=SigSeedSubFilter.PADES),
        signer,
        timestamper=HTTPTimeStamper(timestamp) if timestamp else None,
        stamp_style=style,
    )
    result: BytesIO = maker.sign_pdf(writer)
    return result.getvalue()


def _place(writer: IncrementalPdfFileWriter, box: tuple[int, int, int, int]) -> None:
    """Give the field its place on the page and in the tree of the document (ISO 14289-1:2014, 7.18.4).

    A certificate of the first form has no such tree.
    """
    (reference,) = (one for one in writer.root["/AcroForm"]["/Fields"] if one.get_object()["/T"] == FIELD)
    field = reference.get_object()
    field[NameObject("/Rect")] = ArrayObject(map(NumberObject, box))
    if "/StructTreeRoot" not in writer.root:
        return
    _, entry = writer.root["/StructTreeRoot"]["/ParentTree"].raw_get("/Kids")
    number, place = entry.get_object()["/Nums"]
    content = _dictionary({"/Type": NameObject("/OBJR"), "/Obj": reference, "/Pg": field.raw_get("/P")})
    element = writer.add_object(_dictionary({"/S": NameObject("/Form"), "/P": place, "/K": content}))
    place.get_object()[NameObject("/K")] = element
    entry.get_object()[NameObject("/Nums")] = ArrayObject([number, element])
    field[NameObject("/StructParent")] = number
    for changed in (place, entry):
        writer.mark_update(changed)


def _dictionary(entries: dict[str, PdfObject]) -> DictionaryObject:
    return DictionaryObject({NameObject(key): value for key, value in entries.items()})  # type: ignore[no-untyped-call]


def stamped(data: bytes, service: str) -> bytes:
    """Return the time-stamp token of a service for the SHA-256 of these bytes (RFC 3161, 2.4.2), as DER.

    Raises OSError where the service gives none.
    """
    asked = HTTPTimeStamper(service).async_timestamp(sha256(data).digest(), "sha256")
    token: bytes = asyncio.run(asked).dump()
    return token
