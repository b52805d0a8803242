"""How rolls stood at a moment, and what visits can be held against."""

from dataclasses import replace
from datetime import timedelta

import pytest

from certgen.errors import CannotCompute
from certgen.survey.survey import Adjustment, Reference, Round, Survey, Visit
from certgen.visits.standing import CommonReference, Moment, against, common_reference
from tests.simulate.records import levelled, read, roll, setup, survey, tilt
from tests.simulate.visits import YEARS, dated, solved

MONUMENTS = {"M1": -1000.0, "M2": 5000.0, "M3": 9000.0}


def visit(year: int = 0, **changes: object) -> Survey:
    """Return R1 (the reference) at 0, R2 at 0.1 and, as left, 0.05 mm/m, R3 at 0.2 mm/m and level 0.3."""
    taken = [read("R1", 0.0, 0.0), read("R2", 0.0, 0.21), read("R3", 0.0, 0.42)]
    seen = setup("A", dict.fromkeys(MONUMENTS, 0.0), *taken, read("R2", 0.0, 0.105, "as_left"))
    rolls = (roll("R1"), roll("R2", 1000.0), roll("R3", 2000.0))
    level = levelled(tilt("R3", 0.3))
    return dated(survey(rolls, (seen,), MONUMENTS, **{"level": level, **changes}), YEARS[year])


def moment(taken: Survey, which: Round, names: dict[str, str] | None = None) -> Moment:
    """Return a round of a visit whose rolls go by these names."""
    (solution,) = solved(taken)
    return Moment(solution, which, {one.id: (names or {}).get(one.id, one.id) for one in taken.rolls})


def slopes(one: Moment, aspect: str = "parallel", *, read: bool = False) -> dict[str, float]:
    """Return the slopes by name."""
    return {name: slope.estimate.value for name, slope in one.slopes(aspect, read=read).items()}  # type: ignore[arg-type]


def test_roll_stands_as_left_as_it_was_found_unless_it_was_read() -> None:
    """R2 was read again, R3 was not; of what was read as left there is R2 only, and the zero of R1."""
    found, left = moment(visit(), "as_found"), moment(visit(), "as_left")
    assert slopes(found) == pytest.approx({"R1": 0.0, "R2": 0.1, "R3": 0.2})
    assert slopes(left) == pytest.approx({"R1": 0.0, "R2": 0.05, "R3": 0.2})
    assert slopes(left, read=True) == pytest.approx({"R1": 0.0, "R2": 0.05})
    assert slopes(left, "level") == pytest.approx({"R3": 0.3})
    assert slopes(left, "level", read=True) == {}


def test_slopes_go_by_the_names_over_all_visits() -> None:
    """R2 is called T2 by now."""
    assert set(slopes(moment(visit(), "as_found", {"R2": "T2"}))) == {"R1", "T2", "R3"}


def test_roll_that_was_moved_and_not_read_again_is_lost_as_left_only() -> None:
    """R3 was moved downstream: parallel as left is lost, level is not, and as found it is as it was read."""
    moved = visit(adjustments=(Adjustment("R3", "drive", downstream_mm=0.1),))
    found, left = (moment(moved, which, {"R3": "T3"}) for which in ("as_found", "as_left"))
    assert [one.lost("parallel") for one in (found, left)] == [frozenset(), frozenset({"T3"})]
    assert left.lost("level") == frozenset()
    assert set(slopes(left)) == {"R1", "R2"}
    assert slopes(left, "level") == pytest.approx({"T3": 0.3})


def test_moment_stands_for_the_first_day_or_the_last() -> None:
    """As found before the work, as left after it."""
    taken = replace(visit(), visit=Visit(YEARS[0], YEARS[0] + timedelta(days=3)))
    days = [moment(taken, which).day for which in ("as_found", "as_left")]
    assert days == [YEARS[0], YEARS[0] + timedelta(days=3)]


def test_offset_line_is_common_only_where_its_monuments_are() -> None:
    """In another order they are one line; with one more they are another, and there is no roll."""
    surveys = [
        visit(n, reference=Reference(None, marks)) for n, marks in enumerate((("M1", "M2"), ("M2", "M1")))
    ]
    same = common_reference([moment(one, "as_found") for one in surveys])
    assert same == CommonReference(None, ("M2", "M1"))
    other = visit(1, reference=Reference(None, ("M1", "M2", "M3")))
    with pytest.raises(CannotCompute, match=r"no reference in common\. Measured every time.*: R1, R2, R3"):
        common_reference([moment(surveys[0], "as_found"), moment(other, "as_found")])


def test_reference_of_the_latest_visit_that_has_been_measured_at_all_is_common() -> None:
    """Of three visits against R1, R2 and R3: R3, unless the first did not read it; then R2."""
    surveys = [visit(n, reference=Reference(f"R{n + 1}")) for n in range(3)]
    moments = [moment(one, "as_found") for one in surveys]
    assert common_reference(moments) == CommonReference("R3", brought=True)
    seen = surveys[0].setups[0]
    fewer = replace(seen, readings=tuple(one for one in seen.readings if one.roll != "R3"))
    first = moment(replace(surveys[0], setups=(fewer,)), "as_found")
    assert common_reference([first, *moments[1:]]) == CommonReference("R2", brought=True)


def test_reference_that_is_wanted_is_brought_only_where_a_visit_had_another() -> None:
    """R2 for visits against R1 and R2; R1 for two visits against it."""
    one, other = moment(visit(), "as_found"), moment(visit(1, reference=Reference("R2")), "as_found")
    again = moment(visit(1), "as_found")
    assert common_reference([one, other], "R2") == CommonReference("R2", brought=True)
    assert common_reference([one, again], "R1") == CommonReference("R1", brought=False)
    assert common_reference([one, again], "R2") == CommonReference("R2", brought=True)


def test_visit_without_parallel_has_no_common_reference() -> None:
    """Level alone is compared without one."""
    level = dated(survey((roll("R1"),), level=levelled(tilt("R1", 0.0))), YEARS[1])
    assert common_reference([moment(visit(), "as_found"), moment(level, "as_found")]) is None


def test_slopes_are_held_against_the_roll_of_the_same_moment() -> None:
    """R2 is 0.1 beyond R1 and R3 as much beyond R2; against a line, or none, they stay as they are."""
    found = moment(visit(), "as_found").slopes("parallel")
    held = {name: one.estimate.value for name, one in against(found, CommonReference("R2")).items()}
    assert held == pytest.approx({"R1": -0.1, "R2": 0.0, "R3": 0.1})
    for reference in (None, CommonReference(None, ("M1", "M2"))):
        assert against(found, reference) == found


def test_reference_that_was_moved_stands_as_found_only_where_it_was_read() -> None:
    """Zero as left; as found 0.05 mm/m short of it where it was read, and nothing where it was not.

    Between visits it is a common reference all the same.
    """
    moved = visit(1, adjustments=(Adjustment("R1", "drive", downstream_mm=0.135),))
    seen = moved.setups[0]
    again = (*seen.readings, read("R1", 0.0, 0.105, "as_left"))
    both = replace(moved, setups=(replace(seen, readings=again),))
    assert slopes(moment(both, "as_found"))["R1"] == pytest.approx(-0.05)
    assert slopes(moment(both, "as_left"))["R1"] == 0.0
    held = common_reference([moment(visit(), "as_left"), moment(both, "as_found")])
    assert held == CommonReference("R1", brought=False)
    only_left = replace(moved, setups=(replace(seen, readings=again[1:]),))
    assert "R1" not in slopes(moment(only_left, "as_found"))
