"""What an archived document says about itself outside its pages, and the files it carries."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from hashlib import sha256

from certgen.assessment.assessment import Assessment
from certgen.assessment.results import Json
from certgen.certificate.content import Content

FORMAT = "certgen-certificate/1"
SURVEY = "survey.yaml"
RESULTS = "results.json"
_RESULTS = "The unrounded results, and how the certificate was printed"


@dataclass(frozen=True, slots=True)
class Form:
    """What kind of document the metadata is of: its format, and what each property of its own means.

    `namespace` and `schema` name the description of these properties that ISO 19005-3:2012, 6.6.2 asks for.
    """

    format: str
    namespace: str
    schema: str
    properties: Mapping[str, str]


CERTIFICATE = Form(
    FORMAT,
    "https://certgen.example/ns/certificate/1/",
    "Alignment certificate",
    {
        "format": "Version of the form of the certificate",
        "printed": "SHA-256 of the record of how the certificate was printed, as sorted JSON",
        "digest": "SHA-256 of all bytes of the file before this metadata",
    },
)


@dataclass(frozen=True, slots=True)
class Attachment:
    """A file carried inside the document; `relationship` is Source or Data (ISO 19005-3:2012, 6.8)."""

    name: str
    media_type: str
    description: str
    relationship: str
    data: bytes


@dataclass(frozen=True, slots=True)
class Record:
    """The document information, a digest of how the document was printed, and the attached files.

    `kind` is that of a report; a certificate has none. `producer` is the library that writes the file, or
    wrote it where a certificate is printed again.
    """

    form: Form
    title: str
    author: str
    subject: str
    keywords: str
    creator: str
    language: str
    day: date
    printed: str
    attachments: tuple[Attachment, ...]
    kind: str = ""
    producer: str = ""


def record(assessment: Assessment, content: Content, how: Json, found: bytes) -> Record:
    """Return the record of a certificate: the survey's exact bytes and its results travel with it."""
    head = assessment.survey.certificate
    return Record(
        form=CERTIFICATE,
        title=one_line(f"{content.title}, {content.identification}"),
        author=one_line(content.author),
        subject=one_line(content.title),
        keywords=one_line(f"{FORMAT}, {head.number}, {head.revision}"),
        creator=f"certgen {how['certgen']}",
        producer=str(how["library"]).partition(",")[0],
        language=content.language,
        day=head.issued,
        printed=print_digest(how),
        attachments=(_survey(assessment), results_attachment(found, _RESULTS)),
    )


def print_digest(how: Json) -> str:
    """Return the SHA-256, in hexadecimal, of the record of how a certificate was printed."""
    return sha256(json.dumps(how, sort_keys=True).encode()).hexdigest()


def _survey(assessment: Assessment) -> Attachment:
    description = "The survey as it was read, byte for byte; everything printed follows from it"
    return Attachment(SURVEY, "application/yaml", description, "Source", assessment.survey.source)


def results_bytes(found: Mapping[str, object]) -> bytes:
    """Return results as they travel inside a document."""
    return f"{json.dumps(found, indent=1, ensure_ascii=False, allow_nan=False)}\n".encode()


def results_attachment(found: bytes, description: str) -> Attachment:
    """Return results as the file that a document carries."""
    return Attachment(RESULTS, "application/json", description, "Data", found)


def one_line(text: str) -> str:
    """Fold white space: XML and document information agree on nothing else about line ends."""
    return " ".join(text.split())
