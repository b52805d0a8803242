"""One and the same survey, written in other units and signs, gives the same results."""

from dataclasses import replace

import numpy as np
import pytest

from certgen.network.solution import Solution, solve_survey
from certgen.survey.survey import ROUNDS, Reference
from tests.simulate.lines import draw
from tests.simulate.scene import Laser
from tests.simulate.text import Writer, read_back

METRIC = Writer()
WRITERS = {
    "inch": Writer("thou", "in", "in"),
    "mixed": Writer("thou", "mm", "cm"),
    "rolls upstream": replace(METRIC, roll="upstream"),
    "monuments operator": replace(METRIC, monument="operator"),
    "inch, both turned": Writer("in", "thou", "in", "upstream", "operator"),
}


def numbers(solved: Solution) -> list[float]:
    """Return every slope and every u, parallel and level, in one order."""
    slopes = [
        aspect.slopes[key] for aspect in (solved.parallel, solved.level) for key in sorted(aspect.slopes)
    ]
    return [number for slope in slopes for number in (slope.value, slope.u)]


@pytest.mark.parametrize("writer", WRITERS.values(), ids=WRITERS)
def test_results_do_not_depend_on_units_and_signs(writer):
    """Slopes and their u agree to 1e-9 mm/m."""
    survey = draw(np.random.default_rng(11), Reference("R1")).survey(np.random.default_rng(12))
    plain, other = (solve_survey(read_back(way.text(survey))) for way in (METRIC, writer))
    assert numbers(other) == pytest.approx(numbers(plain), abs=1e-9)


def test_written_survey_is_the_survey():
    """Written in mm and read back, the records solve to the same numbers as they stand."""
    survey = draw(np.random.default_rng(13), Reference("R1")).survey(np.random.default_rng(14))
    assert numbers(solve_survey(read_back(METRIC.text(survey)))) == pytest.approx(
        numbers(solve_survey(survey)), abs=1e-12
    )


def test_azimuth_of_a_setup_is_its_heading():
    """A laser turned clockwise (seen from above) sweeps a plane whose drive side lies downstream: a > 0."""
    line = draw(np.random.default_rng(15), Reference("R1"))
    solved = solve_survey(line.survey(np.random.default_rng(16)))
    found = [solved.azimuth(laser.name).value for laser in line.lasers]
    assert found == pytest.approx([-1000.0 * np.tan(laser.heading) for laser in line.lasers], abs=1e-6)


def test_leaning_laser_adds_only_the_product_with_the_level_slope():
    """A plane 20 µrad off plumb turns a level slope of 0.4 mm/m into 8e-6 mm/m of parallel, no more."""
    line = draw(np.random.default_rng(17), Reference("R1"))
    leaning = replace(line, lasers=tuple(replace(laser, lean=2e-5) for laser in line.lasers))
    found = line.parallel_errors(solve_survey(leaning.survey(np.random.default_rng(18))))
    assert 1e-6 < max(map(abs, found)) < 2.0 * 0.4 * 2e-5 + 1e-6


@pytest.mark.parametrize(("slope", "sign"), [(0.2, 1.0), (-0.2, -1.0)])
def test_drive_end_downstream_is_positive(slope, sign):
    """With the laser square to the machine, a drive end downstream reads more downstream there."""
    line = draw(np.random.default_rng(19), Reference("R1"))
    roll = replace(line.rolls[1], parallel=dict.fromkeys(ROUNDS, slope))
    reading = Laser("A", 0.0).read_roll(roll, "as_found", np.zeros(3), zeroed=True)
    assert np.sign(reading.drive_mm) == sign
