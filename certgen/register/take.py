"""A certificate as PDF to what the register holds of it; the one place that knows where a PDF carries it."""

import json
from io import BytesIO

from pypdf import PdfReader
from pypdf.errors import PyPdfError

from certgen.certificate import archive_record
from certgen.errors import NotVerified, SurveyRefused
from certgen.register.entry import PDF, RESULTS, SURVEY, Certificate, Held, Used
from certgen.survey import accept, read_bytes
from certgen.survey.survey import Survey

Overall = dict[str, str]


def verified(name: str, pdf: bytes) -> Held:
    """Return the certificate in the bytes of the PDF `name`, verified; NotVerified where that fails."""
    return take(name, pdf)


def take(name: str, pdf: bytes) -> Held:
    """Return the certificate in the bytes of the PDF `name`; NotVerified where it is none of certgen's."""
    attached = _attached(name, pdf)
    survey, results = attached[archive_record.SURVEY], attached[archive_record.RESULTS]
    try:
        told = accept(name, read_bytes(name, survey))
        overall = json.loads(results)["overall"]
    except (SurveyRefused, ValueError, KeyError, TypeError) as error:
        raise NotVerified(f"{name}: what the certificate carries cannot be read: {error}") from None
    return held(told, overall, {PDF: pdf, SURVEY: survey, RESULTS: results})


def _attached(name: str, pdf: bytes) -> dict[str, bytes]:
    try:
        found = {key: bytes(each[0]) for key, each in PdfReader(BytesIO(pdf)).attachments.items()}
    except (PyPdfError, ValueError, KeyError, TypeError, AttributeError) as error:
        raise NotVerified(f"{name}: this cannot be read as a PDF: {error}") from None
    missing = [key for key in (archive_record.SURVEY, archive_record.RESULTS) if key not in found]
    if missing:
        raise NotVerified(
            f"{name}: this is no certificate of certgen; it carries no {' and no '.join(missing)}"
        )
    return found


def held(survey: Survey, overall: Overall, files: dict[str, bytes]) -> Held:
    """Return a certificate with its files, identified by the survey."""
    head, line, customer = survey.certificate, survey.line, survey.customer
    certificate = Certificate(
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
        instruments=_used(survey),
        supersedes=head.supersedes,
        reason=head.reason,
    )
    return Held(certificate, files)


def _used(survey: Survey) -> tuple[Used, ...]:
    return tuple(
        Used(one.kind, one.serial, one.calibrated.isoformat(), one.due.isoformat(), one.traceable_to)
        for one in survey.instruments
    )
