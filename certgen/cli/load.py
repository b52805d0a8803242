"""A survey file to a survey that may be computed with, for every command that needs one."""

from certgen.findings import Finding
from certgen.survey import Reading, accept, read_survey
from certgen.survey.survey import Survey


def load(path: str) -> tuple[Survey, tuple[Finding, ...]]:
    """Return the survey and its warnings; SurveyRefused with every fault, those of its ties included."""
    return accepted(path, read_survey(path))


def accepted(name: str, reading: Reading) -> tuple[Survey, tuple[Finding, ...]]:
    """Return the survey of a reading and its warnings; SurveyRefused as for `load`, under that name."""
    survey = accept(name, reading, _ties(reading.survey))
    return survey, reading.findings


def _ties(survey: Survey | None) -> tuple[Finding, ...]:
    if survey is None:
        return ()
    from certgen.engine.ties import untied  # loads scipy, which a file that is no survey need not wait for

    return untied(survey)
