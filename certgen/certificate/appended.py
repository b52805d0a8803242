"""What was appended to a certificate after it was issued: nothing, or signatures."""

from collections.abc import Iterator

from certgen.certificate.carried import Carried
from certgen.certificate.verification import Check, differs, held


def appended(certificate: Carried) -> Iterator[Check]:
    """Yield the checks of what follows the certificate as issued."""
    if not certificate.appended:
        yield held("appended", "Nothing was appended to the certificate; it is not signed")
    else:
        yield differs("appended", f"{len(certificate.appended)} bytes were appended to the certificate")
