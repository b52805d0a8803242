"""certgen turns a roll-line alignment survey into a certificate that a plant can audit.

The front door for other programs:

    findings = certgen.check("line3.yaml")
    solved = certgen.solve("line3.yaml")
    solved.results()["overall"]
    certgen.issue("line3.yaml", "line3.pdf")

The steps behind it, each loaded when it is first asked for:

    survey = certgen.accept(path, certgen.read_survey(path))
    assessment = certgen.assess(certgen.solve_survey(survey))
    data = certgen.survey_results(assessment)
    pdf = certgen.certificate_pdf(assessment, certgen.Wording(certgen.templates(), "en"), "A4")
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from certgen.assessment.assess import assess
    from certgen.document.compose import compose
    from certgen.errors import CertgenError
    from certgen.front_door import Solved, check, issue, solve
    from certgen.network.solution import solve_survey
    from certgen.pdf.pdf_document import certificate_pdf
    from certgen.resources import templates
    from certgen.results.survey_results import survey_results
    from certgen.survey import accept, read_survey
    from certgen.wording.wording import Wording

__version__ = "0.2.0"

__all__ = [
    "CertgenError",
    "Solved",
    "Wording",
    "__version__",
    "accept",
    "assess",
    "certificate_pdf",
    "check",
    "compose",
    "issue",
    "read_survey",
    "solve",
    "solve_survey",
    "survey_results",
    "templates",
]

_DOORS = {
    "check": "certgen.front_door",
    "solve": "certgen.front_door",
    "issue": "certgen.front_door",
    "Solved": "certgen.front_door",
    "read_survey": "certgen.survey",
    "accept": "certgen.survey",
    "solve_survey": "certgen.network.solution",
    "assess": "certgen.assessment.assess",
    "survey_results": "certgen.results.survey_results",
    "compose": "certgen.document.compose",
    "certificate_pdf": "certgen.pdf.pdf_document",
    "Wording": "certgen.wording.wording",
    "templates": "certgen.resources",
    "CertgenError": "certgen.errors",
}


# the type checker knows the names from above; to it this would make any other name an object too
if not TYPE_CHECKING:

    def __getattr__(name: str) -> object:
        """Load a name of the front door from where it lives."""
        if name not in _DOORS:
            msg = f"module {__name__!r} has no attribute {name!r}"
            raise AttributeError(msg)
        return getattr(import_module(_DOORS[name]), name)


def __dir__() -> list[str]:
    """List the front door."""
    return sorted(__all__)
