"""What `certgen issue` makes: the certificate and what else was asked for, in one style, written together."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from certgen.assessment.assessment import Assessment
from certgen.cli.house import house_of
from certgen.cli.io.messages import made
from certgen.cli.io.write import require_folder, require_free, write_all
from certgen.cli.register.add import keeper
from certgen.findings import Finding
from certgen.pdf.archive.metadata import Attachment
from certgen.survey.survey import Paper
from certgen.wording.wording import Wording


@dataclass(frozen=True, slots=True)
class Asked:
    """What was asked for on the command line."""

    file: Path
    output: Path | None = None
    replace: bool = False
    paper: Paper | None = None
    annexes: str = "all"
    draft: bool = False
    language: str | None = None
    templates: Path | None = None
    html: Path | None = None
    csv: Path | None = None
    xlsx: Path | None = None
    letter: Path | None = None
    dcc: Path | None = None
    sign: Path | None = None
    timestamp: str | None = None
    where: str | None = None
    record: bool = False

    @property
    def pdf(self) -> Path:
        """The PDF to write."""
        return self.output or self.file.with_suffix(".pdf")

    def require_free(self) -> None:
        """Raise where an output could not be written, as far as that can be told before it is made."""
        if self.csv is not None:
            require_folder(self.csv)
        others = (self.html, self.xlsx, self.letter, self.dcc)
        inputs = [self.file] if self.sign is None else [self.file, self.sign]
        require_free([self.pdf, *(path for path in others if path is not None)], self.replace, inputs)


def issue(
    assessment: Assessment, asked: Asked, findings: tuple[Finding, ...], tell: Callable[[str], None]
) -> None:
    """Make everything, record the certificate where that was asked for, then write everything.

    Warnings are told before, a line each.
    """
    keep = keeper(asked.where, asked.record)
    house = house_of(asked.file, asked.templates)
    wording = house.wording(asked.language)
    for finding in findings:
        tell(finding.line(str(asked.file)))
    files = dict(_files(assessment, wording, house.paper_for(assessment.survey, asked.paper), asked))
    files[asked.pdf] = keep(asked.pdf, files[asked.pdf])
    write_all(files, [] if asked.csv is None else [asked.csv], asked.replace)
    made(f"Wrote {', '.join(map(str, files))}.")


def _files(
    assessment: Assessment, wording: Wording, paper: Paper, asked: Asked
) -> Iterator[tuple[Path, bytes]]:
    """Every file and its bytes; what is not asked for is not loaded."""
    form: Attachment | None = None
    if asked.dcc is not None:
        from certgen.exports.dcc import attachment, dcc_xml

        form = attachment(dcc_xml(assessment))
        yield asked.dcc, form.data
    yield asked.pdf, _pdf(assessment, wording, paper, asked, form)
    if asked.letter is not None:
        from certgen.document.compose import letter_text

        yield asked.letter, letter_text(assessment, wording).encode()
    if asked.html is None and asked.csv is None and asked.xlsx is None:
        return
    from certgen.document.compose import annex_letters, compose

    content = compose(assessment, wording, annexes=annex_letters(asked.annexes), draft=asked.draft)
    if asked.html is not None:
        from certgen.web.html_page import certificate_html

        yield asked.html, certificate_html(assessment, content, wording).encode()
    if asked.csv is not None:
        from certgen.exports.csv_and_workbook import csv_files

        yield from ((asked.csv / name, data) for name, data in csv_files(content).items())
    if asked.xlsx is not None:
        from certgen.exports.csv_and_workbook import workbook

        yield asked.xlsx, workbook(content, wording)


def _pdf(
    assessment: Assessment, wording: Wording, paper: Paper, asked: Asked, form: Attachment | None
) -> bytes:
    """The certificate, signed where that was asked for."""
    from certgen.document.compose import annex_letters
    from certgen.pdf.pdf_document import certificate

    letters = annex_letters(asked.annexes)
    printed = certificate(assessment, wording, paper, annexes=letters, draft=asked.draft, dcc=form)
    if asked.sign is None:
        return printed.pdf
    from certgen.cli.signing import signing_with

    return signing_with(asked.sign, asked.timestamp).sign(printed, wording, asked.pdf)
