"""What a report beside the certificate says about itself outside its pages, and the files it carries."""

from collections.abc import Mapping
from dataclasses import dataclass
from hashlib import sha256
from typing import Literal

from certgen.assessment.results import Json
from certgen.certificate.archive_record import (
    SURVEY,
    Attachment,
    Form,
    Record,
    one_line,
    print_digest,
    results_attachment,
    results_bytes,
)
from certgen.certificate.content import Content
from certgen.certificate.wording import Wording
from certgen.survey.survey import Survey

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
    surveys = (_survey(name, survey) for name, survey in zip(names, basis.surveys, strict=True))
    description = "The unrounded results, and how the report was printed"
    return (*surveys, results_attachment(results_bytes({**basis.results, "printed": how}), description))


def _survey(name: str, survey: Survey) -> Attachment:
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
