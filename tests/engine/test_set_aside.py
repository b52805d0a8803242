"""Readings that the survey sets aside openly."""

from dataclasses import replace

import pytest

from certgen.engine.kept import set_aside
from certgen.engine.solution import solve_survey
from certgen.engine.ties import untied
from certgen.survey.survey import Survey
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
    solved = solve_survey(survey((roll("R1"),), level=readings)).level
    assert solved is not None
    assert solved.slopes["R1", "as_found"].value == pytest.approx(0.1, rel=1e-6)
