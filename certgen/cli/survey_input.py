"""A survey file to a survey that may be computed with, for every command that needs one."""

from pathlib import Path
from typing import TYPE_CHECKING

from certgen.errors import CannotCompute, WrongUsage
from certgen.findings import Finding, Place
from certgen.survey import Reading, accept, read_survey
from certgen.survey.source import require_ordinary, unreadable
from certgen.survey.survey import Survey

if TYPE_CHECKING:
    from certgen.assessment.assessment import Assessment
    from certgen.network.solution import Solution

LARGEST_BYTES = 50_000_000


def fetch(path: Path) -> bytes:
    """Return the bytes of the file; WrongUsage where there are none to be had or too many."""
    try:
        require_ordinary(path)
        with path.open("rb") as stream:
            data = stream.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:
        raise unreadable(path, error) from None
    if len(data) > LARGEST_BYTES:
        raise WrongUsage(f"{path}: this is larger than any certificate (50 MB).")
    return data


def load(path: str) -> tuple[Survey, tuple[Finding, ...]]:
    """Return the survey and its warnings; SurveyRefused with every fault, those of its network included."""
    reading = _built(path, read_survey(path))
    from certgen.network.solution import network_faults

    return accept(path, reading, network_faults(reading)), reading.findings


def load_solved(path: str) -> "tuple[Solution, tuple[Finding, ...]]":
    """Return the solution of the survey and its warnings; SurveyRefused as for `load`, else as solving it."""
    return solved_reading(path, read_survey(path))


def load_assessed(path: str) -> "tuple[Assessment, tuple[Finding, ...]]":
    """Return the assessed survey with everything to be warned of: what `check`, `solve` and `issue` say.

    Errors are those of `load_solved`.
    """
    solution, findings = load_solved(path)
    from certgen.assessment.assess import assess
    from certgen.results.cautions import cautions

    assessment = assess(solution)
    return assessment, (*findings, *cautions(assessment))


def load_warned(path: str) -> tuple[Survey, tuple[Finding, ...]]:
    """Return the survey and everything to be warned of, as `load_assessed`; it need not have an answer.

    That it has none is then one of the warnings. SurveyRefused as for `load`.
    """
    try:
        assessment, findings = load_assessed(path)
    except CannotCompute as none:
        survey, findings = load(path)
        hint = "Until then it can be checked only as it is written."
        return survey, (*findings, Finding("warning", Place(1, 1), "survey", f"no results yet: {none}", hint))
    return assessment.survey, findings


def solved_reading(name: str, reading: Reading) -> "tuple[Solution, tuple[Finding, ...]]":
    """Return the solution of a reading and its warnings, as `load_solved` does, under that name."""
    reading = _built(name, reading)
    from certgen.network.solution import solve_reading

    return solve_reading(name, reading), reading.findings


def _built(name: str, reading: Reading) -> Reading:
    """Refuse a file that is no survey at once: it need not wait for scipy, which solving loads."""
    if reading.survey is None:
        accept(name, reading)
    return reading
