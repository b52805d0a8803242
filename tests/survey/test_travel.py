"""`travel`: how far bearings can be moved, for both alike or for each by itself."""

import pytest

from certgen.survey.survey import BearingTravel, Travel
from tests.survey.sound import findings, survey

R2 = "face: 1900, bearings: 2000, adjustable: drive}"
R3 = "face: 1900, bearings: 2000, adjustable: both}"


def stating(line: str, travel: str) -> tuple[str, str]:
    """Return the edit that gives a roll this travel."""
    return line, f"{line[:-1]}, travel: {travel}}}"


def test_travel_holds_for_both_bearings() -> None:
    """Stated without a side; a way that is not stated has no limit, and 0 means that nothing is left."""
    both = BearingTravel(up_mm=2.0, down_mm=0.0, downstream_mm=0.0254)
    found = survey(stating(R3, "{up: 2 mm, down: 0 mm, downstream: 1 thou}"))
    assert found.rolls[2].travel == Travel(both, both)


def test_travel_may_be_that_of_each_bearing() -> None:
    """A side that is not stated has no limit."""
    found = survey(stating(R3, "{drive: {upstream: 3 mm}}"))
    assert found.rolls[2].travel == Travel(BearingTravel(), BearingTravel(upstream_mm=3.0))


def test_travel_is_not_limited_where_none_is_stated() -> None:
    """The plain case."""
    assert survey().rolls[2].travel == Travel()


@pytest.mark.parametrize(
    ("travel", "ways"),
    [
        ("{up: 0.05 mm, downstream: 0.5 mm}", ["up"]),
        ("{drive: {up: 1 mm, downstream: 0.1 mm}}", ["downstream"]),
        ("{down: 0 mm, upstream: 0 mm}", []),
    ],
)
def test_move_beyond_its_travel_is_a_warning(travel: str, ways: list[str]) -> None:
    """R2 was reported 0.1 mm up and 0.5 mm downstream at its drive side."""
    up = ("side: drive, downstream: 0.5 mm", "side: drive, up: 0.1 mm, downstream: 0.5 mm")
    found = [f for f in findings(stating(R2, travel), up) if "longer than the travel" in f.message]
    assert [f.message.split()[-1] for f in found] == ways
    assert {f.severity for f in found} <= {"warning"}
