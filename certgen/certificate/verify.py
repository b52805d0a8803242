"""Does a certificate say what its survey gives? All it carries and prints, computed and printed again."""

from collections.abc import Callable
from typing import Any

from certgen.certificate.again import Again
from certgen.certificate.carried import Carried
from certgen.certificate.verification import Check, differs
from certgen.certificate.verify_again import against
from certgen.certificate.verify_inside import inside
from certgen.errors import CannotCompute, NotVerified, SurveyRefused, WrongUsage

PrintAgain = Callable[[bytes, dict[str, Any]], Again]


def verify(certificate: Carried, print_again: PrintAgain) -> tuple[Check, ...]:
    """Return what was checked of a certificate as issued, and how each came out.

    What was appended to it, a signature or anything else, is not looked at here. Raises NotVerified where a
    changed byte keeps the file from being read at all.
    """
    try:
        return _checked(certificate, print_again)
    except (SurveyRefused, CannotCompute, WrongUsage) as error:
        raise NotVerified(f"the survey inside gives no certificate: {error}") from None
    except Exception as error:  # as in `carried`: a changed byte may break the reader anywhere
        raise NotVerified(f"the file cannot be read: {type(error).__name__}: {error}.") from None


def _checked(certificate: Carried, print_again: PrintAgain) -> tuple[Check, ...]:
    found = certificate.found() or {}
    checks = tuple(inside(certificate, found))
    how = found.get("printed")
    if not isinstance(how, dict):
        return (*checks, differs("results", "The results inside are not those of a certificate"))
    return (*checks, *against(certificate, found, print_again(certificate.survey, how)))
