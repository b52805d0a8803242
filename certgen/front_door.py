"""certgen for other programs: check, solve and issue a survey file, as the commands of these names do.

What lies behind is loaded when it is asked for. Slopes in results are mm/m, lengths mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from certgen.errors import SurveyRefused

if TYPE_CHECKING:
    from certgen.assessment.assessment import Assessment
    from certgen.findings import Finding
    from certgen.survey.survey import Paper


def check(path: Path | str) -> tuple[Finding, ...]:
    """Return every fault and warning of a survey file, in the order of the file; none where it is sound.

    A faulty survey is no exception here: its findings have the severity "error". Raises WrongUsage where
    nothing can be read from the path.
    """
    from certgen.cli.survey_input import load_warned

    try:
        return load_warned(str(path))[1]
    except SurveyRefused as refused:
        return refused.findings


def solve(path: Path | str) -> Solved:
    """Return the solved and judged survey of a file.

    Raises SurveyRefused with every finding where the survey is faulty, CannotCompute where it has no answer
    and WrongUsage where nothing can be read from the path; all are CertgenError.
    """
    from certgen.cli.survey_input import load_assessed

    assessment, findings = load_assessed(str(path))
    return Solved(Path(path), assessment, findings)


def issue(
    path: Path | str,
    output: Path | str | None = None,
    *,
    replace: bool = False,
    language: str | None = None,
    paper: Paper | None = None,
    templates: Path | None = None,
    annexes: str = "all",
) -> Path:
    """Write the certificate of a survey file as PDF, by default beside it, and return its path.

    `language` is en, de, fr or es; `paper` A5, A4, A3 or letter; `templates` a folder of one's own words.
    Raises as `solve`, WouldReplace where the output is there and `replace` was not asked for, and
    CannotWrite; a failed run leaves nothing behind.
    """
    solved = solve(path)
    from certgen.cli.publish import Asked
    from certgen.cli.publish import issue as write

    asked = Asked(
        Path(path),
        output=None if output is None else Path(output),
        replace=replace,
        paper=paper,
        annexes=annexes,
        language=language,
        templates=templates,
    )
    asked.require_free()
    write(solved.assessment, asked, solved.findings, lambda _: None)
    return asked.pdf


@dataclass(frozen=True, slots=True)
class Solved:
    """A survey that was solved and judged, with the warnings about it."""

    path: Path
    assessment: Assessment
    findings: tuple[Finding, ...]

    def results(self) -> dict[str, object]:
        """Return the results as `certgen solve --json` prints them: dicts, lists, text and floats."""
        from certgen.results.survey_results import survey_results

        return survey_results(self.assessment)

    def pdf(
        self,
        *,
        language: str | None = None,
        paper: Paper | None = None,
        templates: Path | None = None,
        annexes: str = "all",
    ) -> bytes:
        """Return the certificate as PDF, the same bytes as `certgen issue` writes; nothing is written."""
        from certgen.cli.house import house_of
        from certgen.document.compose import annex_letters
        from certgen.pdf.pdf_document import certificate

        house = house_of(self.path, templates)
        sheet = house.paper_for(self.assessment.survey, paper)
        return certificate(
            self.assessment, house.wording(language), sheet, annexes=annex_letters(annexes)
        ).pdf

    def html(
        self, *, language: str | None = None, templates: Path | None = None, annexes: str = "all"
    ) -> str:
        """Return the certificate as one page for a browser, which loads nothing from elsewhere."""
        from certgen.cli.house import house_of
        from certgen.document.compose import annex_letters, compose
        from certgen.web.html_page import certificate_html

        wording = house_of(self.path, templates).wording(language)
        content = compose(self.assessment, wording, annexes=annex_letters(annexes))
        return certificate_html(self.assessment, content, wording)
