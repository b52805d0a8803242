"""What an archived document says about itself outside its pages, the files it carries, and its XMP.

ISO 19005-3:2012, 6.6.2 wants the two to agree, and every property that is not predefined to be described.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from typing import Literal

from markupsafe import escape

from certgen.assessment.assessment import Assessment
from certgen.document.content import Content
from certgen.results.survey_results import Json
from certgen.survey.survey import Survey
from certgen.wording.wording import Wording

FORMAT = "certgen-certificate/1"
SURVEY = "survey.yaml"
RESULTS = "results.json"
DCC = "dcc.xml"  # the results in the form of a digital calibration certificate, where they were asked for
_RESULTS = "The unrounded results, and how the certificate was printed"
_PACKET = """<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
 <rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
  <rdf:Description rdf:about=""
    xmlns:dc="http://purl.org/dc/elements/1.1/"
    xmlns:pdf="http://ns.adobe.com/pdf/1.3/"
    xmlns:xmp="http://ns.adobe.com/xap/1.0/"
    xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/"
    xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/"
    xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/"
    xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#"
    xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#"
    xmlns:certgen="{namespace}">
   <pdfaid:part>3</pdfaid:part>
   <pdfaid:conformance>A</pdfaid:conformance>
   <pdfuaid:part>1</pdfuaid:part>
   <dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>
   <dc:creator><rdf:Seq><rdf:li>{author}</rdf:li></rdf:Seq></dc:creator>
   <dc:description><rdf:Alt><rdf:li xml:lang="x-default">{subject}</rdf:li></rdf:Alt></dc:description>
   <dc:language><rdf:Bag><rdf:li>{language}</rdf:li></rdf:Bag></dc:language>
   <pdf:Keywords>{keywords}</pdf:Keywords>
   <pdf:Producer>{producer}</pdf:Producer>
   <xmp:CreatorTool>{creator}</xmp:CreatorTool>
   <xmp:CreateDate>{day}T00:00:00Z</xmp:CreateDate>
   <xmp:ModifyDate>{day}T00:00:00Z</xmp:ModifyDate>
{stated}
   <pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">
    <pdfaSchema:schema>{schema}</pdfaSchema:schema>
    <pdfaSchema:namespaceURI>{namespace}</pdfaSchema:namespaceURI>
    <pdfaSchema:prefix>certgen</pdfaSchema:prefix>
    <pdfaSchema:property><rdf:Seq>
{properties}
    </rdf:Seq></pdfaSchema:property>
   </rdf:li><rdf:li rdf:parseType="Resource">
    <pdfaSchema:schema>PDF/UA identification</pdfaSchema:schema>
    <pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>
    <pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix>
    <pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType="Resource">
      <pdfaProperty:name>part</pdfaProperty:name>
      <pdfaProperty:valueType>Integer</pdfaProperty:valueType>
      <pdfaProperty:category>internal</pdfaProperty:category>
      <pdfaProperty:description>Part of ISO 14289 that the file follows</pdfaProperty:description>
    </rdf:li></rdf:Seq></pdfaSchema:property>
   </rdf:li></rdf:Bag></pdfaExtension:schemas>
  </rdf:Description>
 </rdf:RDF>
</x:xmpmeta>
<?xpacket end="r"?>"""
_PROPERTY = """     <rdf:li rdf:parseType="Resource">
      <pdfaProperty:name>{name}</pdfaProperty:name>
      <pdfaProperty:valueType>Text</pdfaProperty:valueType>
      <pdfaProperty:category>internal</pdfaProperty:category>
      <pdfaProperty:description>{description}</pdfaProperty:description>
     </rdf:li>"""


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
    """A file inside the document; its `relationship` (ISO 19005-3:2012, 6.8): Source, Data or Alternative."""

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


def record(
    assessment: Assessment, content: Content, how: Json, found: bytes, dcc: Attachment | None = None
) -> Record:
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
        attachments=(
            _survey(assessment),
            results_attachment(found, _RESULTS),
            *(() if dcc is None else (dcc,)),
        ),
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


Kind = Literal["study", "comparison", "trend", "work sheet"]

REPORT = Form(
    "certgen-report/1",
    "https://certgen.example/ns/report/1/",
    "Alignment report",
    {
        "format": "Version of the form of the report",
        "kind": "What the report is: study, comparison, trend or work sheet",
        "printed": "SHA-256 of the record of how the report was printed, as sorted JSON",
        "digest": "SHA-256 of all bytes of the file before this metadata",
    },
)


@dataclass(frozen=True, slots=True)
class Basis:
    """What a report is of: its kind, the surveys it is worked out from in order of time, its results."""

    kind: Kind
    surveys: tuple[Survey, ...]
    results: Mapping[str, object]


def survey_names(count: int) -> tuple[str, ...]:
    """Return the names under which so many surveys are carried: survey.yaml, or survey-1.yaml and so on."""
    if count == 1:
        return (SURVEY,)
    return tuple(SURVEY.replace(".", f"-{number}.") for number in range(1, count + 1))


def attachments(basis: Basis, how: Json) -> tuple[Attachment, ...]:
    """Return the files that the report carries: the exact bytes of every survey, then the results."""
    names = survey_names(len(basis.surveys))
    surveys = (_survey_entry(name, survey) for name, survey in zip(names, basis.surveys, strict=True))
    description = "The unrounded results, and how the report was printed"
    return (*surveys, results_attachment(results_bytes({**basis.results, "printed": how}), description))


def _survey_entry(name: str, survey: Survey) -> Attachment:
    head = survey.certificate
    text = f"The survey of certificate {head.number}, revision {head.revision}, as it was read, byte for byte"
    return Attachment(name, "application/yaml", one_line(text), "Source", survey.source)


def report_record(basis: Basis, content: Content, how: Json) -> Record:
    """Return the record of a report; its date is the latest day of issue among its surveys."""
    heads = [survey.certificate for survey in basis.surveys]
    certificates = (f"{head.number}, {head.revision}" for head in heads)
    return Record(
        form=REPORT,
        title=one_line(f"{content.title}, {content.identification}"),
        author=one_line(content.author),
        subject=one_line(content.title),
        keywords=one_line(", ".join((REPORT.format, basis.kind, *certificates))),
        creator=f"certgen {how['certgen']}",
        producer=str(how["library"]).partition(",")[0],
        language=content.language,
        day=max(head.issued for head in heads),
        printed=print_digest(how),
        attachments=attachments(basis, how),
        kind=basis.kind,
    )


def attached_lines(
    basis: Basis, files: tuple[Attachment, ...], wording: Wording
) -> tuple[tuple[str, str], ...]:
    """Return every file that the report carries, by name, with what it is and its digest."""
    heads = [survey.certificate for survey in basis.surveys]
    whats = [wording.word("number", number=head.number, revision=head.revision) for head in heads]
    lines = zip(files, (*whats, wording.word("attached_results")), strict=True)
    return tuple(
        (file.name, wording.word("attached_file", what=what, digest=sha256(file.data).hexdigest()))
        for file, what in lines
    )


def xmp(record: Record, digest: str) -> bytes:
    """Return the packet; `digest` is that of everything that stands before it in the file."""
    form = record.form
    own = {"format": form.format, "kind": record.kind, "printed": record.printed, "digest": digest}
    stated = (f"   <certgen:{name}>{escape(own[name])}</certgen:{name}>" for name in form.properties)
    described = (_PROPERTY.format(name=name, description=text) for name, text in form.properties.items())
    values = {
        "title": record.title,
        "author": record.author,
        "subject": record.subject,
        "language": record.language,
        "keywords": record.keywords,
        "producer": record.producer,
        "creator": record.creator,
        "day": record.day.isoformat(),
        "namespace": form.namespace,
        "schema": form.schema,
    }
    safe = {key: str(escape(value)) for key, value in values.items()}
    return _PACKET.format(stated="\n".join(stated), properties="\n".join(described), **safe).encode()
