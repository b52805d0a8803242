"""The names that other programs may rely on."""

import json
import subprocess
import sys

import pytest

import certgen
from certgen import resources

NAMES = [
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


def test_front_door_has_these_names_and_no_others() -> None:
    """A name that goes or comes is a change for others: say so in the changelog."""
    assert dir(certgen) == NAMES
    assert all(getattr(certgen, name) for name in NAMES)


def test_unknown_name_is_an_attribute_error() -> None:
    """As of any module."""
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = certgen.nothing


def test_front_door_leads_from_a_survey_to_its_certificate() -> None:
    """The steps of the docstring, with the certificate at the end."""
    path = str(resources.sample_surveys() / "tutorial.yaml")
    survey = certgen.accept(path, certgen.read_survey(path))
    assessment = certgen.assess(certgen.solve_survey(survey))
    assert json.loads(json.dumps(certgen.survey_results(assessment)))["overall"]["as_left"] == "pass"
    wording = certgen.Wording(certgen.templates(), "en")
    assert certgen.certificate_pdf(assessment, wording, "A4").startswith(b"%PDF-")


def test_importing_certgen_loads_nothing_else() -> None:
    """The door is light; what lies behind it is not."""
    heavy = "('numpy', 'scipy', 'pint')"
    code = f"import sys, certgen; print([n for n in sys.modules if n.split('.')[0] in {heavy}])"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
