"""certgen turns a roll-line alignment survey into a certificate that a plant can audit.

The front door for other programs; each name is loaded when it is first asked for:

    survey = certgen.accept(path, certgen.read_survey(path))
    assessment = certgen.assess(certgen.solve_survey(survey))
    data = certgen.results(assessment)
    pdf = certgen.certificate_pdf(assessment, certgen.Wording(certgen.templates(), "en"), "A4")
"""

from importlib import import_module

__version__ = "0.1.0"

_DOORS = {
    "read_survey": "certgen.survey",
    "accept": "certgen.survey",
    "solve_survey": "certgen.engine.solution",
    "assess": "certgen.assessment.assess",
    "results": "certgen.assessment.results",
    "compose": "certgen.certificate.compose",
    "certificate_pdf": "certgen.certificate.assemble",
    "Wording": "certgen.certificate.wording",
    "templates": "certgen.resources",
    "CertgenError": "certgen.errors",
}


def __getattr__(name: str) -> object:
    """Load a name of the front door from where it lives."""
    if name not in _DOORS:
        msg = f"module {__name__!r} has no attribute {name!r}"
        raise AttributeError(msg)
    return getattr(import_module(_DOORS[name]), name)


def __dir__() -> list[str]:
    """List the front door."""
    return sorted([*_DOORS, "__version__"])
