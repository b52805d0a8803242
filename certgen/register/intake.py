"""A certificate as PDF to what the register holds of it."""

from typing import Any

from certgen.errors import NotVerified, SurveyRefused
from certgen.register.entries import PDF, RESULTS, SURVEY, Certificate, Held, Used
from certgen.signature.claim import claim
from certgen.survey import accept, read_bytes
from certgen.survey.edition import edition_of
from certgen.survey.survey import Survey
from certgen.verify.issued_file import carried


def take(name: str, pdf: bytes) -> Held:
    """Return the certificate in the bytes of the PDF `name`; NotVerified where it is none of certgen's.

    Whether it says what its survey gives is for the verification to tell, before or after.
    """
    try:
        inside = carried(pdf)
        found = inside.found() or {}
        survey = accept(name, read_bytes(name, inside.survey, edition_of(found)))
        overall = found["overall"]
        printed = found["printed"]
        if isinstance(printed, dict) and printed.get("draft") is True:
            raise NotVerified("it is a draft, and a draft is not registered; issue it without --draft.")
        files = {PDF: pdf, SURVEY: inside.survey, RESULTS: inside.results}
        return Held(identified(survey, overall), files, claim(pdf, len(inside.base)).signed_by)
    except NotVerified as error:
        raise NotVerified(f"{name}: {error}") from None
    except (SurveyRefused, KeyError, TypeError, ValueError) as error:
        raise NotVerified(f"{name}: what the certificate carries cannot be read: {error}") from None


def identified(survey: Survey, overall: Any) -> Certificate:
    """Return what identifies the certificate of a survey, with the verdicts of its results (`overall`)."""
    head, line, customer = survey.certificate, survey.line, survey.customer
    used = tuple(
        Used(one.kind, one.serial, one.calibrated.isoformat(), one.due.isoformat(), one.traceable_to)
        for one in survey.instruments
    )
    return Certificate(
        number=head.number,
        revision=head.revision,
        issued=head.issued.isoformat(),
        started=survey.visit.started.isoformat(),
        finished=survey.visit.finished.isoformat(),
        line=line.name,
        asset=line.asset,
        location=line.location,
        customer=customer.name,
        order=customer.order,
        contractor=survey.contractor.name,
        decision=survey.decision,
        as_found=overall["as_found"],
        as_left=overall["as_left"],
        instruments=used,
        supersedes=head.supersedes,
        reason=head.reason,
        surveyed_by=survey.contractor.surveyed_by,
        approved_by=survey.contractor.approved_by,
    )
