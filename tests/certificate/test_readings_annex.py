"""The annex of readings: every one as taken; residual, w and check against figures worked out by hand."""

from dataclasses import replace

import pytest

from certgen.assessment.assess import assess
from certgen.assessment.assessment import Assessment
from certgen.document.content import Table
from certgen.document.readings_annex import readings_blocks
from certgen.network.solution import solve_survey
from certgen.survey.survey import MonumentReading, Positive, RollReading, SlopeReading
from tests.certificate.samples import WORDING, sample
from tests.simulate.records import levelled, read, roll, setup, survey, tilt


def again(reading: RollReading, number: int, **changes: object) -> RollReading:
    """Return a reading with the place of one of several in the survey."""
    return replace(reading, where=f"{reading.where}[{number}]", **changes)


def twice_read(**changes: object) -> Assessment:
    """Return a line whose R2 was read twice: 0.100 and 0.140 mm from end to end."""
    first, second = read("R2", 0.0, 0.100), read("R2", 0.0, 0.140)
    taken = setup("A", {}, read("R1", 0.0, 0.0), again(first, 0), again(second, 1))
    rolls = tuple(roll(name, 1000.0 * index) for index, name in enumerate(("R1", "R2")))
    return assess(solve_survey(survey(rolls, (taken,), **changes)))


def tables(assessment: Assessment) -> list[Table]:
    """Return the tables of the annex."""
    return [block for block in readings_blocks(assessment, WORDING) if isinstance(block, Table)]


def test_residual_w_and_check_are_those_worked_out_by_hand() -> None:
    """The mean difference is 0.120: each end is off by half of 0.020, and a quarter of a blunder shows there.

    Four readings of R2 have three unknowns (its slope, the height of each seating), so that the one degree of
    freedom is shared evenly; w is the residual over sigma times the root of a quarter.
    """
    assessment = twice_read()
    parallel = assessment.solution.parallel
    assert parallel is not None
    sigma = float(parallel.network.sigmas[2])
    w = f"{0.010 / (sigma * 0.5):.2f}"
    (found,) = tables(assessment)
    assert [tuple(row) for row in found.rows] == [
        ("R1", "0.000", "0.000", "", "", "alone"),
        ("R2", "0.000", "+0.100", "+0.0100", f"+{w}", "25 %"),
        ("R2 again", "0.000", "+0.140", "−0.0100", f"−{w}", "25 %"),
    ]


def test_readings_stand_in_the_signs_of_the_survey() -> None:
    """Where positive means upstream and the operator side, the engine's numbers are turned back."""
    turned = Positive(roll="upstream", monument="operator")
    (found,) = tables(twice_read(positive=turned))
    assert [row[2] for row in found.rows] == ["0.000", "−0.100", "−0.140"]
    assert [row[3] for row in found.rows] == ["", "−0.0100", "+0.0100"]
    assert found.rows[1][4].startswith("−")


def test_reading_set_aside_is_listed_and_says_so() -> None:
    """It was taken, so it stands there; it has no residual."""
    second = again(read("R2", 0.0, 0.140), 1, exclude="target slipped")
    taken = setup("A", {}, read("R1", 0.0, 0.0), again(read("R2", 0.0, 0.100), 0), second)
    rolls = tuple(roll(name, 1000.0 * index) for index, name in enumerate(("R1", "R2")))
    (found,) = tables(assess(solve_survey(survey(rolls, (taken,)))))
    assert found.rows[-1] == ("R2 again", "0.000", "+0.140", "", "", "set aside")
    assert found.rows[1][-1] == "alone"


def test_both_ways_round_of_the_level_stand_in_one_row() -> None:
    """A place read one way only has no second reading."""
    rolls = tuple(roll(name, 1000.0 * index) for index, name in enumerate(("R1", "R2")))
    level = levelled(tilt("R1", 0.10), tilt("R1", 0.06, turned=True), tilt("R2", -0.02))
    (found,) = tables(assess(solve_survey(survey(rolls, level=level))))
    assert [row[:3] for row in found.rows] == [("R1", "+0.1000", "+0.0600"), ("R2", "−0.0200", "")]
    assert [column.title for column in found.columns][1:3] == ["direct", "reversed"]


@pytest.mark.parametrize("name", ["tutorial", "winder_inch", "coater_mm", "dryer_mixed", "unwind_wide"])
def test_every_reading_of_a_sample_is_there(name: str) -> None:
    """Counted from the survey: seatings, places of the level (both ways one), monuments."""
    assessment = sample(name)
    taken = assessment.survey
    rows = sum(
        sum(1 for column in range(1, len(one.columns), 5) if row[column] or row[column + 1])
        if any(column.group for column in one.columns)
        else 1
        for one in tables(assessment)
        for row in one.rows
    )
    seatings = [reading for each in taken.setups for reading in each.readings]
    marks = [reading for each in taken.setups for reading in each.monuments]
    heights = taken.level.heights if taken.level else ()
    slopes = taken.level.slopes if taken.level else ()
    assert rows == len(seatings) + len(marks) + len(heights) + pairs(slopes)
    assert all(isinstance(one, MonumentReading) for one in marks)


def pairs(slopes: tuple[SlopeReading, ...]) -> int:
    """Return how many rows the readings of the level make."""
    left, count = {}, 0
    for one in slopes:
        key = (one.roll, one.round, one.at_mm)
        if left.get(key) == (not one.reversed):
            del left[key]
        else:
            left[key] = one.reversed
            count += 1
    return count
