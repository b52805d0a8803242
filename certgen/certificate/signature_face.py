"""What is seen of an electronic signature: who and when, small, in the place to sign."""

from datetime import datetime
from io import BytesIO

from reportlab.pdfgen.canvas import Canvas

from certgen.certificate.canvas import SignaturePlace
from certgen.certificate.look import BODY, GREY, INK, load_fonts, width_of
from certgen.certificate.wording import Wording

_NAME, _REST, _LEAST = 8.4, 6.4, 4.0  # sizes in points


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
        canvas.setFont(BODY, _fitting(text, size, right - left - 4.0))
        canvas.drawString(0.0, above, text)
    canvas.save()
    return buffer.getvalue()


def _fitting(text: str, size: float, width: float) -> float:
    """A size at which the text fits."""
    return max(_LEAST, min(size, size * width / width_of(text, BODY, size)))
