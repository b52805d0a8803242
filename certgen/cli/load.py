"""A survey file to a survey that may be computed with, for every command that needs one."""

from typing import TYPE_CHECKING

from certgen.findings import Finding
from certgen.survey import Reading, accept, read_survey
from certgen.survey.survey import Survey

if TYPE_CHECKING:
    from certgen.engine.solution import Solution


def load(path: str) -> tuple[Survey, tuple[Finding, ...]]:
    """Return the survey and its warnings; SurveyRefused with every fault, those of its network included."""
    reading = _built(path, read_survey(path))
    from certgen.engine.accepted import network_faults

    return accept(path, reading, network_faults(reading)), reading.findings


def load_solved(path: str) -> "tuple[Solution, tuple[Finding, ...]]":
    """Return the solution of the survey and its warnings; SurveyRefused as for `load`, else as solving it."""
    return solved_reading(path, read_survey(path))


def solved_reading(name: str, reading: Reading) -> "tuple[Solution, tuple[Finding, ...]]":
    """Return the solution of a reading and its warnings, as `load_solved` does, under that name."""
    reading = _built(name, reading)
    from certgen.engine.accepted import solve_reading

    return solve_reading(name, reading), reading.findings


def _built(name: str, reading: Reading) -> Reading:
    """Refuse a file that is no survey at once: it need not wait for scipy, which solving loads."""
    if reading.survey is None:
        accept(name, reading)
    return reading
