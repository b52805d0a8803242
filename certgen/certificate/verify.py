"""Does a certificate say what its survey gives? All it carries and prints, computed and printed again."""

from collections.abc import Callable, Sequence
from typing import Any

from certgen.certificate.again import Again
from certgen.certificate.appended import appended
from certgen.certificate.carried import Carried
from certgen.certificate.verification import Check, differs, remark
from certgen.certificate.verify_again import against
from certgen.certificate.verify_edition import OTHERWISE, older_edition
from certgen.certificate.verify_inside import inside
from certgen.certificate.wording import Wording
from certgen.errors import CannotCompute, NotVerified, SurveyRefused, WrongUsage

PrintAgain = Callable[[bytes, bytes], Again]


def verify(certificate: Carried, print_again: PrintAgain, trust: Sequence[bytes] = ()) -> tuple[Check, ...]:
    """Return what was checked of a certificate, and how each came out.

    `trust` are the certificates of authorities whose signers are trusted. Raises NotVerified where a changed
    byte keeps the file from being read at all.
    """
    try:
        checks, wording = _as_issued(certificate, print_again)
        found = (*checks, *appended(certificate, _places(certificate), trust, wording))
        return _vouched_for(found) if trust else found
    except (WrongUsage, NotVerified):
        raise
    except (SurveyRefused, CannotCompute) as error:
        raise NotVerified(f"the survey inside gives no certificate: {error}") from None
    except Exception as error:  # as in `carried`: a changed byte may break the reader anywhere
        raise NotVerified(f"the file cannot be read: {type(error).__name__}: {error}.") from None


def _as_issued(certificate: Carried, print_again: PrintAgain) -> tuple[tuple[Check, ...], Wording | None]:
    """What was checked of the certificate as issued, and the words that it was printed with."""
    found = certificate.found() or {}
    checks = tuple(inside(certificate, found))
    how = found.get("printed")
    if not isinstance(how, dict):
        return (*checks, differs("results", "The results inside are not those of a certificate")), None
    again = print_again(certificate.survey, certificate.results)
    older = older_edition(certificate.survey, found)
    return (*checks, *against(certificate, found, again), *older), again.wording


def _vouched_for(checks: tuple[Check, ...]) -> tuple[Check, ...]:
    """Where somebody trusted has signed the whole file, the signer stands for what cannot be compared.

    Not for verdicts that today's rules give otherwise: the signer may be who chose the rules of before.
    """
    signed = [check.outcome for check in checks if check.name in ("signature", "trust")]
    if not signed or set(signed) != {"held"}:
        return checks
    return tuple(
        remark(one.name, f"{one.text}; the signer stands for it", one.details)
        if one.outcome == "not compared" and one.name != OTHERWISE
        else one
        for one in checks
    )


def _places(certificate: Carried) -> Sequence[Any]:
    """The places to sign, none where the record of printing does not say."""
    how = (certificate.found() or {}).get("printed")
    places = how.get("signature_places") if isinstance(how, dict) else None
    return places if isinstance(places, list) else ()
