"""Certificates of the sample surveys for the tests of the register."""

from functools import cache

from certgen.certificate.assemble import certificate_pdf
from certgen.register.entry import Held
from certgen.register.take import take
from tests.certificate.samples import WORDING, sample


@cache
def real_pdf(name: str) -> bytes:
    """Return the certificate of a sample survey."""
    return certificate_pdf(sample(name), WORDING, "A4")


def real(name: str) -> Held:
    """Return the certificate of a sample survey as a register takes it."""
    return take(f"{name}.pdf", real_pdf(name))
