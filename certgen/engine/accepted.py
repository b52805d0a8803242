"""From what reading a file gave to its solution, or to all that is wrong with the file in one go."""

from certgen.engine.solution import Solution, solve_survey
from certgen.engine.steep import steep
from certgen.engine.ties import tied_network
from certgen.errors import RankDefect, SurveyRefused
from certgen.findings import Finding, has_errors
from certgen.survey import Reading, accept


def solve_reading(name: str, reading: Reading) -> Solution:
    """Return the solution of a reading without errors, under its `name` in messages.

    Raises SurveyRefused with every fault, those that only the network shows included, and else as
    `solve_survey`. They are looked for by themselves only where something is wrong: that solves it again.
    """
    try:
        solution = solve_survey(accept(name, reading))
    except (SurveyRefused, RankDefect):
        accept(name, reading, network_faults(reading))
        raise
    if solution.parallel is not None:
        accept(name, reading, steep(solution.survey, solution.parallel.network))
    return solution


def network_faults(reading: Reading) -> tuple[Finding, ...]:
    """Return the faults that only the parallel network shows: setups without a tie, rolls no line can have.

    None where the file was too faulty to look for them. Slopes are judged where nothing else is wrong: a
    faulty value is stood in for, and a reading refused already would be named twice.
    """
    if reading.survey is None:
        return ()
    network, faults = tied_network(reading.survey)
    if network is None or has_errors(reading.findings):
        return faults
    return steep(reading.survey, network)
