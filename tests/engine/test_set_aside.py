"""Readings that the survey sets aside openly."""

from dataclasses import replace

import pytest

from certgen.network.solution import Aspect, set_aside, solve_survey, untied
from certgen.survey.survey import HeightReading, LevelReadings, MonumentReading, Survey
from tests.simulate.records import levelled, read, roll, setup, survey, tilt


def line(reason: str | None) -> Survey:
    """Return a roll read twice, the second time 5 mm off and set aside where there is a reason."""
    wrong = replace(read("R2", 0.0, 5.0), exclude=reason, where="wrong")
    seen = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.1), wrong)
    return survey((roll("R1"), roll("R2")), (seen,))


def test_reading_set_aside_takes_no_part() -> None:
    """The slope is that of the other reading alone."""
    solved = solve_survey(line("target slipped")).parallel
    assert solved is not None
    assert solved.slopes["R2", "as_found"].value == pytest.approx(0.1 / 2.1, rel=1e-9)


def test_reading_set_aside_is_listed_with_its_reason() -> None:
    """Nothing is dropped silently."""
    (one,) = set_aside(line("target slipped"))
    assert (one.setup, one.reading.where, one.reason) == ("A", "wrong", "target slipped")
    assert set_aside(line(None)) == ()


def test_setting_aside_the_only_tie_is_refused() -> None:
    """Without its reading of the reference the setup has no tie."""
    taken = line(None)
    first, *others = taken.setups[0].readings
    loose = replace(taken.setups[0], readings=(replace(first, exclude="smudged"), *others))
    (finding,) = untied(replace(taken, setups=(loose,)))
    assert "no tie to the reference" in finding.message


def test_level_reading_set_aside_takes_no_part() -> None:
    """As for the laser."""
    readings = levelled(tilt("R1", 0.1), replace(tilt("R1", 0.9), exclude="bumped"))
    taken = survey((roll("R1"),), level=readings)
    solved = solve_survey(taken).level
    assert solved is not None
    assert solved.slopes["R1", "as_found"].value == pytest.approx(0.1, rel=1e-6)
    assert [(one.setup, one.reason) for one in set_aside(taken)] == [(None, "bumped")]


def test_monument_set_aside_takes_no_part() -> None:
    """A monument reading 3 mm off would turn the setup; set aside, the result is that of the others alone."""
    seen = {"M1": 0.0, "M2": 0.0}

    def line_of(*more: MonumentReading) -> Survey:
        first = setup("A", seen, read("R1", 0.0, 0.0), read("R2", 0.0, 0.1))
        second = setup("B", seen, read("R3", 0.0, -0.2))
        second = replace(second, monuments=(*second.monuments, *more))
        rolls = (roll("R1"), roll("R2"), roll("R3"))
        return survey(rolls, (first, second), {"M1": -1000.0, "M2": 4000.0})

    wrong = MonumentReading("M2", 3.0, "wrong", "knocked by a pallet")
    without, aside, taken = (
        _parallel(line_of(*more)) for more in ((), (wrong,), (replace(wrong, exclude=None),))
    )
    assert aside.slopes["R3", "as_found"].value == without.slopes["R3", "as_found"].value
    assert aside.slopes["R3", "as_found"].u == without.slopes["R3", "as_found"].u
    assert len(aside.network.observations) == len(without.network.observations)
    assert taken.slopes["R3", "as_found"].value != pytest.approx(without.slopes["R3", "as_found"].value)
    assert [one.reading.where for one in set_aside(line_of(wrong))] == ["wrong"]


def test_height_set_aside_takes_no_part() -> None:
    """Of two heights of a roll over the level plane the other one counts alone."""
    good = HeightReading("R1", "as_found", 0.0, 0.21, (300.0, 2400.0), "good")
    wrong = HeightReading("R1", "as_found", 0.0, 2.1, (300.0, 2400.0), "wrong", exclude="tripod moved")
    alone, aside, taken = (
        solve_survey(survey((roll("R1"),), level=LevelReadings("level", (), heights))).level
        for heights in ((good,), (good, wrong), (good, replace(wrong, exclude=None)))
    )
    assert alone is not None
    assert aside is not None
    assert taken is not None
    assert alone.slopes["R1", "as_found"].value == pytest.approx(0.1, rel=1e-9)
    assert aside.slopes["R1", "as_found"].value == alone.slopes["R1", "as_found"].value
    assert aside.slopes["R1", "as_found"].u == alone.slopes["R1", "as_found"].u
    assert taken.slopes["R1", "as_found"].value == pytest.approx(0.55, rel=1e-6)


def _parallel(taken: Survey) -> Aspect:
    solved = solve_survey(taken).parallel
    assert solved is not None
    return solved
