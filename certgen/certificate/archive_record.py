"""What an archived certificate says about itself outside its pages, and the files it carries."""

import json
from dataclasses import dataclass
from datetime import date

from certgen import __version__
from certgen.assessment.assessment import Assessment
from certgen.assessment.results import Json, results
from certgen.certificate.content import Content
from certgen.certificate.wording import Wording
from certgen.certificate.wording_digest import wording_digest
from certgen.survey.survey import Paper

FORMAT = "certgen-certificate/1"
SURVEY = "survey.yaml"
RESULTS = "results.json"


@dataclass(frozen=True, slots=True)
class Attachment:
    """A file carried inside the certificate; `relationship` is Source or Data (ISO 19005-3:2012, 6.8)."""

    name: str
    media_type: str
    description: str
    relationship: str
    data: bytes


@dataclass(frozen=True, slots=True)
class Record:
    """The document information and the attached files."""

    title: str
    author: str
    subject: str
    keywords: str
    creator: str
    language: str
    day: date
    attachments: tuple[Attachment, ...]


def printed(wording: Wording, paper: Paper, *, with_checklist: bool) -> Json:
    """Return how the certificate was printed, as far as it takes that to print it again."""
    return {
        "format": FORMAT,
        "certgen": __version__,
        "language": wording.language,
        "paper": paper,
        "with_checklist": with_checklist,
        "wording_sha256": wording_digest(wording),
    }


def record(assessment: Assessment, content: Content, how: Json) -> Record:
    """Return the record of a certificate: the survey's exact bytes and the results travel with it."""
    head = assessment.survey.certificate
    return Record(
        title=_line(f"{content.title}, {content.identification}"),
        author=_line(content.author),
        subject=_line(content.title),
        keywords=_line(f"{FORMAT}, {head.number}, {head.revision}"),
        creator=f"certgen {__version__}",
        language=content.language,
        day=head.issued,
        attachments=(_survey(assessment), _results(assessment, how)),
    )


def _survey(assessment: Assessment) -> Attachment:
    description = "The survey as it was read, byte for byte; everything printed follows from it"
    return Attachment(SURVEY, "application/yaml", description, "Source", assessment.survey.source)


def _results(assessment: Assessment, how: Json) -> Attachment:
    text = json.dumps({**results(assessment), "printed": how}, indent=1, ensure_ascii=False, allow_nan=False)
    description = "The unrounded results, and how the certificate was printed"
    return Attachment(RESULTS, "application/json", description, "Data", f"{text}\n".encode())


def _line(text: str) -> str:
    """White space folded: XML and document information agree on nothing else about line ends."""
    return " ".join(text.split())
