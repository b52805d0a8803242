"""What happened to a suspect reading, where the numbers show it."""

from dataclasses import replace

import pytest

from certgen.engine.solution import solve_survey
from certgen.survey.survey import Setup, Survey
from tests.simulate.records import levelled, read, roll, setup, survey, tilt

MONUMENTS = {"M1": -1000.0, "M2": 5000.0, "M3": 9000.0}


def line(first: float = 1.2, again: float = 1.2, third: float = 1.2) -> Survey:
    """Return two rolls, the second read three times over with these drive-side readings."""
    seen = setup("A", {}, read("R1", 0.0, 0.0), *(read("R2", 0.0, value) for value in (first, again, third)))
    return survey((roll("R1"), roll("R2")), (seen,))


def first_cause(taken: Survey, aspect: str = "parallel") -> str | None:
    """Return the cause of the first suspect."""
    solved = getattr(solve_survey(taken), aspect).quality
    assert solved.suspects
    return solved.causes[0]


@pytest.mark.parametrize(
    ("third", "cause"),
    [
        (-1.2, "ends or sign"),
        (1.2 * 25.4, "unit"),
        (1.2 / 25.4, "unit"),
        (12.0, "decimal"),
        (0.12, "decimal"),
    ],
)
def test_cause_is_named_where_the_numbers_show_it(third: float, cause: str) -> None:
    """The reading turned over, or times a factor, agrees with the other two."""
    assert first_cause(line(third=third)) == cause


def test_cause_is_not_made_up() -> None:
    """A reading that is simply wrong has no cause that the numbers could show."""
    assert first_cause(line(third=1.9)) is None


def test_cause_of_a_level_reading_turned_over_is_its_sign() -> None:
    """Four readings of one slope, one with the wrong sign."""
    taken = [tilt("R1", 0.3) for _ in range(4)]
    taken[1] = replace(taken[1], slope_mm_per_m=-0.3)
    assert first_cause(survey((roll("R1"),), level=levelled(*taken)), "level") == "sign"


def seen(name: str, shift: float) -> Setup:
    """Return a setup that reads both rolls and three monuments, the second shifted."""
    return setup(name, {"M1": 0.0, "M2": shift, "M3": 0.0}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.0))


@pytest.mark.parametrize(("shifts", "moved"), [((0.0, 0.0, 0.3, 0.3), True), ((0.0, 0.0, 0.3, 0.0), False)])
def test_disturbed_monument_is_told_from_a_wrong_reading(shifts: tuple[float, ...], moved: bool) -> None:
    """A shift that lasts is a disturbed monument; one reading that is off is not."""
    setups = tuple(seen(name, shift) for name, shift in zip("ABCD", shifts, strict=True))
    solved = solve_survey(survey((roll("R1"), roll("R2")), setups, MONUMENTS)).parallel.quality
    assert solved.suspects[0].label.monument == "M2"
    assert (solved.causes[0] == "monument") is moved
