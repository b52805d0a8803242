"""The squareness error of the laser: where it cancels, where it enters, and one for every laser."""

from dataclasses import replace

import numpy as np
import pytest

from certgen.network.parallel import carries_squareness
from certgen.network.solution import solve_survey
from certgen.survey.survey import Reference
from tests.simulate.lines import TrueLine, draw, stating

ROLL, LINE = Reference("R1"), Reference(None, ("M1", "M3"))
OPEN = 90.0  # mm/m: the readings alone decide


def with_two_lasers(line: TrueLine) -> TrueLine:
    """Return the line with setup B taken by a second laser that is out of square the other way."""
    first, second, third = line.lasers
    other = replace(second, instrument="laser 2", square_error=-2.0 * first.square_error)
    return replace(line, lasers=(first, other, third))


def found_squareness(solved) -> dict[str, float]:
    """Return the squareness error of each laser, mm/m."""
    values = solved.parallel.network.values
    return {unknown.of: value for unknown, value in values.items() if unknown.kind == "squareness"}


def test_squareness_cancels_against_a_reference_roll():
    """One laser, never reversed, a reference roll: the error is no unknown."""
    survey = draw(np.random.default_rng(1), ROLL, square_error=5e-5).survey(np.random.default_rng(2))
    assert not carries_squareness(stating(survey, 0.01))


@pytest.mark.parametrize(("reference", "turn"), [(LINE, ""), (ROLL, "B")])
def test_squareness_enters_with_a_line_or_a_reversal(reference, turn):
    """Against an offset line, and with a reversed setup, it is an unknown with its prior."""
    survey = draw(np.random.default_rng(1), reference, turn=turn).survey(np.random.default_rng(2))
    assert carries_squareness(stating(survey, 0.01))


def test_squareness_stated_as_zero_is_known():
    """A laser said to be exactly square needs no unknown."""
    survey = draw(np.random.default_rng(1), LINE).survey(np.random.default_rng(2))
    assert not carries_squareness(stating(survey, 0.0))


def test_squareness_of_two_lasers_does_not_spoil_the_slopes():
    """What two lasers differ by does not cancel: rolls read with both find the difference."""
    line = with_two_lasers(draw(np.random.default_rng(3), ROLL, square_error=5e-5))
    solved = solve_survey(stating(line.survey(np.random.default_rng(4)), OPEN))
    assert max(map(abs, line.parallel_errors(solved))) < 1e-6
    found = found_squareness(solved)
    assert found["laser"] - found["laser 2"] == pytest.approx(0.05 + 0.10, abs=1e-6)


def test_squareness_of_two_lasers_is_found_by_their_reversals():
    """Against an offset line, each laser's own reversal finds its own error."""
    line = with_two_lasers(draw(np.random.default_rng(3), LINE, square_error=5e-5))
    first, second, third = line.lasers
    turned = replace(line, lasers=(first, replace(second, reversed=True), replace(third, reversed=True)))
    solved = solve_survey(stating(turned.survey(np.random.default_rng(4)), OPEN))
    assert max(map(abs, line.parallel_errors(solved))) < 1e-6
    assert found_squareness(solved) == pytest.approx({"laser": 0.05, "laser 2": -0.10}, abs=1e-6)


def test_squareness_enters_the_uncertainty_against_a_line():
    """Every slope against an offset line carries the whole u of the squareness; differences do not."""
    survey = draw(np.random.default_rng(5), LINE).survey(np.random.default_rng(6))
    plain, unsure = (solve_survey(stating(survey, size)).parallel.slopes for size in (0.0, 0.02))
    two, three = ("R2", "as_found"), ("R3", "as_found")
    assert unsure[two].u ** 2 == pytest.approx(plain[two].u ** 2 + 0.02**2, rel=1e-9)
    assert (unsure[two] - unsure[three]).u == pytest.approx((plain[two] - plain[three]).u, rel=1e-9)
