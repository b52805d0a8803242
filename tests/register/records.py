"""Certificates of the sample surveys for the tests of the register."""

from functools import cache

from certgen.pdf.pdf_document import certificate_pdf
from certgen.register.entries import Held
from certgen.register.intake import take
from tests.certificate.samples import WORDING, sample


@cache
def real_pdf(name: str) -> bytes:
    """Return the certificate of a sample survey."""
    return certificate_pdf(sample(name), WORDING, "A4")


def real(name: str) -> Held:
    """Return the certificate of a sample survey as a register takes it."""
    return take(f"{name}.pdf", real_pdf(name))
