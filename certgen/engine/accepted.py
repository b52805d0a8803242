"""From what reading a file gave to its solution, or to all that is wrong with the file in one go."""

from certgen.engine.solution import Solution, solve_survey
from certgen.engine.ties import untied
from certgen.errors import RankDefect, SurveyRefused
from certgen.findings import Finding
from certgen.survey import Reading, accept


def solve_reading(name: str, reading: Reading) -> Solution:
    """Return the solution of a reading without errors, under its `name` in messages.

    Raises SurveyRefused with every fault, missing ties to the reference included, and else as `solve_survey`.
    Ties are looked into only where something is wrong: that solves the parallel network by itself.
    """
    try:
        return solve_survey(accept(name, reading))
    except (SurveyRefused, RankDefect):
        accept(name, reading, missing_ties(reading))
        raise


def missing_ties(reading: Reading) -> tuple[Finding, ...]:
    """Return the findings about ties, none where the file was too faulty to look for them."""
    return () if reading.survey is None else untied(reading.survey)
