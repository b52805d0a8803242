"""What an archived certificate says about itself outside its pages, and the files it carries."""

import json
from dataclasses import dataclass
from datetime import date
from hashlib import sha256

from certgen import __version__
from certgen.assessment.assessment import Assessment
from certgen.assessment.results import Json, results
from certgen.certificate.content import Content

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
    """The document information, a digest of how the certificate was printed, and the attached files."""

    title: str
    author: str
    subject: str
    keywords: str
    creator: str
    language: str
    day: date
    printed: str
    attachments: tuple[Attachment, ...]


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
        printed=print_digest(how),
        attachments=(_survey(assessment), _results(assessment, how)),
    )


def print_digest(how: Json) -> str:
    """Return the SHA-256, in hexadecimal, of the record of how a certificate was printed."""
    return sha256(json.dumps(how, sort_keys=True).encode()).hexdigest()


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
