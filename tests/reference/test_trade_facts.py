"""Rules of the trade that a crew knows by heart; each is common practice, no source.

Turns are simulated exactly, as rotations of points about a pivot.
"""

import numpy as np
import pytest

from certgen.assessment.assess import assess
from certgen.moves.steps import aim_mm, bearing_move_mm, stop_reading_mm
from certgen.network.solution import solve_survey
from certgen.survey.survey import Limit
from tests.simulate.records import read, roll, setup, survey

INCH = 25.4
TO_NEAR, APART, FAR_READS = 12.5 * INCH, 15.5 * INCH, 0.118 * INCH


def turned_about_origin(points: np.ndarray, angle: float) -> np.ndarray:
    """Return points (n, 2) turned counterclockwise about the pivot at the origin."""
    c, s = np.cos(angle), np.sin(angle)
    return points @ np.array([[c, s], [-s, c]])


def test_aim_is_the_known_figure():
    """Pivot to near 12.5 in, near to far 15.5 in, far reads +0.118 in: aim at -0.095 in."""
    assert round(aim_mm(TO_NEAR, APART, FAR_READS) / INCH, 3) == -0.095


def test_aim_makes_both_ends_read_the_same():
    """Turn the laser's line about its pivot until the far target reads the aim: the near one reads it too."""
    targets = np.array([[TO_NEAR, 0.0], [TO_NEAR + APART, FAR_READS]])
    angle = -np.arctan2(FAR_READS, APART)
    near, far = turned_about_origin(targets, angle)[:, 1]
    assert far == pytest.approx(near, abs=1e-12)
    assert aim_mm(TO_NEAR, APART, FAR_READS) == pytest.approx(far, rel=1e-4)


def test_aim_is_the_stop_reading_of_a_roll():
    """A roll turned about its operator bearing stops at the same figure: one formula serves both."""
    about = roll("R1", bearings_mm=60.0 * INCH, targets_mm=(TO_NEAR, TO_NEAR + APART))
    slope = 1000.0 * FAR_READS / APART
    stop = stop_reading_mm(about, "drive", slope, 0.0, 0.0)
    assert stop == pytest.approx(aim_mm(TO_NEAR, APART, FAR_READS), rel=1e-12)


def test_near_target_over_the_turning_bearing_stops_at_zero():
    """Far end at -0.016 in, near target over the turning bearing: it moves 0.016 in to come parallel."""
    span = 60.0 * INCH
    about = roll("R1", bearings_mm=span, targets_mm=(0.0, span))
    slope = 1000.0 * -0.016 * INCH / span
    assert stop_reading_mm(about, "drive", slope, 0.0, 0.0) == pytest.approx(0.0, abs=1e-12)
    assert bearing_move_mm(slope, span, "drive") == pytest.approx(0.016 * INCH, rel=1e-12)


def test_two_thousandths_are_close_enough():
    """Within a couple of thousandths is usually close enough: 2 thou against 4 thou over bearings passes."""
    bearings = 108.0 * INCH
    limit = Limit(1000.0 * 0.004 * INCH / bearings, "4 thou over bearings")
    rolls = tuple(roll(name, bearings_mm=bearings, parallel_limit=limit) for name in ("R1", "R2"))
    over_targets = 0.002 * INCH * (2400.0 - 300.0) / bearings
    seen = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, over_targets))
    state = assess(solve_survey(survey(rolls, (seen,), decision="simple"))).rolls[1].parallel.as_found
    assert state.over_bearings_mm == pytest.approx(0.002 * INCH, rel=1e-9)
    assert state.verdict == "pass"


def test_equal_monument_readings_mean_an_offset_only():
    """+0.100 in on both monuments after a new set-up: the laser moved aside and did not turn."""
    both = 0.100 * INCH
    first = setup("A", {"M1": 0.0, "M2": 0.0}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.05))
    second = setup("B", {"M1": both, "M2": both}, read("R3", 0.0, -0.07))
    rolls = (roll("R1", 0.0), roll("R2", 1000.0), roll("R3", 2000.0))
    solved = solve_survey(survey(rolls, (first, second), {"M1": -1000.0, "M2": 5000.0}))
    assert solved.azimuth("B").value == pytest.approx(solved.azimuth("A").value, abs=1e-12)
    slopes = [solved.parallel.slopes[name, "as_found"].value for name in ("R1", "R2", "R3")]
    assert slopes == pytest.approx([0.0, 0.05 / 2.1, -0.07 / 2.1], abs=1e-12)
