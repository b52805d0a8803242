"""The whole engine against exact plane geometry: survey files written from rotated planes, read and solved.

Nothing of the engine's linear model enters the simulation. Slopes and headings stay below 0.4 mm/m, so
what the model leaves out (cubes and products of them) is about 6e-8 mm/m; the tests allow 1e-6 mm/m.
The signs hold by construction of the scene: a positive parallel slope puts the drive end downstream, a
positive level slope puts it high.
"""

import numpy as np
import pytest

from certgen.network.solution import solve_survey
from certgen.survey.survey import Reference, Survey
from tests.simulate.lines import TrueLine, draw, stating
from tests.simulate.text import Writer, read_back

METRIC = Writer()
INCH = Writer("thou", "in", "in")
MIXED = Writer("mm", "thou", "cm")
ROLL, LINE = Reference("R1"), Reference(None, ("M1", "M3"))
SQUARE_ERROR = 5e-5  # rad, 10 seconds of arc
OPEN = 90.0  # mm/m: so wide that the readings alone decide on the squareness error
TOLERANCE = 1e-6  # mm/m


def taken(line: TrueLine, writer: Writer = METRIC, square_within: float = 0.0) -> Survey:
    """Return the survey of a line, through the text of a survey file; the laser taken to be square within."""
    survey = line.survey(np.random.default_rng(7))
    return read_back(writer.text(stating(survey, square_within)))


@pytest.mark.parametrize("writer", [METRIC, INCH, MIXED], ids=["mm", "inch", "mixed"])
@pytest.mark.parametrize("seed", range(3))
def test_roll_reference_recovers_every_slope(writer, seed):
    """Three setups turned against each other, a laser out of square: all slopes come out true."""
    line = draw(np.random.default_rng(seed), ROLL, square_error=SQUARE_ERROR)
    solved = solve_survey(taken(line, writer))
    assert max(map(abs, line.parallel_errors(solved))) < TOLERANCE


@pytest.mark.parametrize("name", ["R5", "R9"])
def test_roll_reference_may_be_any_roll(name):
    """A reference seen by a later setup only carries back through the monuments."""
    line = draw(np.random.default_rng(4), Reference(name), square_error=SQUARE_ERROR)
    assert max(map(abs, line.parallel_errors(solve_survey(taken(line))))) < TOLERANCE


def test_monument_line_recovers_every_slope():
    """Against an offset line, a laser in square gives all slopes true."""
    line = draw(np.random.default_rng(5), LINE)
    assert max(map(abs, line.parallel_errors(solve_survey(taken(line))))) < TOLERANCE


def test_monument_line_passes_on_an_uncorrected_squareness_error():
    """Without a reversal the squareness error lies in every slope, equal and opposite: R - e."""
    line = draw(np.random.default_rng(5), LINE, square_error=SQUARE_ERROR)
    found = line.parallel_errors(solve_survey(taken(line)))
    assert found == pytest.approx([-1000.0 * SQUARE_ERROR] * len(found), abs=TOLERANCE)


@pytest.mark.parametrize("reference", [ROLL, LINE], ids=["roll", "line"])
@pytest.mark.parametrize(("turn", "error"), [("A", SQUARE_ERROR), ("B", SQUARE_ERROR), ("C", -SQUARE_ERROR)])
def test_reversed_setup_finds_the_squareness_error(reference, turn, error):
    """One setup with the planes the other way round and a roll read in both: e and all slopes are true."""
    line = draw(np.random.default_rng(6), reference, square_error=error, turn=turn)
    solved = solve_survey(taken(line, square_within=OPEN))
    assert max(map(abs, line.parallel_errors(solved))) < TOLERANCE
    found = [
        value for unknown, value in solved.parallel.network.values.items() if unknown.kind == "squareness"
    ]
    assert found == pytest.approx([1000.0 * error], abs=TOLERANCE)


@pytest.mark.parametrize("writer", [METRIC, INCH], ids=["mm", "inch"])
@pytest.mark.parametrize("seed", range(3))
def test_level_recovers_every_slope(writer, seed):
    """A level with a zero error, found on two rolls read both ways; tapered and sagging rolls among them."""
    line = draw(np.random.default_rng(seed), ROLL)
    solved = solve_survey(taken(line, writer))
    assert max(map(abs, line.level_errors(solved))) < TOLERANCE
    zero = [value for unknown, value in solved.level.network.values.items() if unknown.kind == "zero"]
    assert zero == pytest.approx([line.level.zero_mm_per_m], abs=TOLERANCE)


def test_level_recovers_the_sag():
    """The sag of a roll read at two places is its true curvature, 0.05 mm/m per metre."""
    line = draw(np.random.default_rng(8), ROLL)
    values = solve_survey(taken(line)).level.network.values
    sags = {unknown.of: value for unknown, value in values.items() if unknown.kind == "sag"}
    assert sags == {"R5": pytest.approx(0.05, abs=1e-6), "R8": pytest.approx(0.05, abs=1e-6)}


def test_readings_without_noise_close():
    """What the exact readings leave over is the size of the neglected terms: chi-square is nearly zero."""
    solved = solve_survey(taken(draw(np.random.default_rng(9), ROLL)))
    assert solved.parallel.quality.chi_square < 1e-9
    assert max(abs(closure.difference) for closure in solved.parallel.quality.closures) < TOLERANCE
