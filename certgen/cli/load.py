"""A survey file to a survey that may be computed with, for every command that needs one."""

from certgen.engine.ties import untied
from certgen.findings import Finding
from certgen.survey import accept, read_survey
from certgen.survey.survey import Survey


def load(path: str) -> tuple[Survey, tuple[Finding, ...]]:
    """Return the survey and its warnings; SurveyRefused with every fault, those of its ties included."""
    reading = read_survey(path)
    more = untied(reading.survey) if reading.survey is not None else ()
    survey = accept(path, reading, more)
    return survey, reading.findings
