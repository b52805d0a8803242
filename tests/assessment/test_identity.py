"""The same roll over several surveys: by id, by what it was, never by an id that another took over."""

from dataclasses import replace

from certgen.assessment.identity import identities
from certgen.survey.survey import Survey, Visit
from tests.simulate import records
from tests.simulate.visits import YEARS


def survey(year: int, *rolls: str) -> Survey:
    """Return a survey of rolls, each written `id` or `id<was`."""
    made = [records.roll(one.partition("<")[0], was=one.partition("<")[2] or None) for one in rolls]
    return replace(records.survey(tuple(made)), visit=Visit(YEARS[year], YEARS[year]))


def test_rolls_keep_their_id() -> None:
    """Without renaming every roll goes by its own id."""
    found = identities([survey(0, "R1", "R2"), survey(1, "R1", "R2")])
    assert found == ({"R1": "R1", "R2": "R2"},) * 2


def test_renamed_roll_goes_by_its_last_id() -> None:
    """Over two renamings, and over a survey that does not have it."""
    found = identities([survey(0, "A"), survey(1, "B<A"), survey(2, "X"), survey(3, "C<B", "X")])
    assert [one.get("A") or one.get("B") or one.get("C") for one in found] == ["C", "C", None, "C"]


def test_swapped_ids_are_followed() -> None:
    """Two rolls that took each other's id."""
    found = identities([survey(0, "R1", "R2"), survey(1, "R1<R2", "R2<R1")])
    assert found == ({"R1": "R2", "R2": "R1"}, {"R1": "R1", "R2": "R2"})


def test_new_roll_under_an_old_id_has_no_past() -> None:
    """R7 was R6; what is called R6 now is another roll."""
    found = identities([survey(0, "R6"), survey(1, "R6", "R7<R6")])
    assert found == ({"R6": "R7"}, {"R6": "R6", "R7": "R7"})


def test_vanished_roll_whose_id_was_taken_is_dated() -> None:
    """It must not be taken for the roll that bears its id now."""
    found = identities([survey(0, "R1", "R2"), survey(1, "R1<R2")])
    assert found[0] == {"R1": f"R1 ({YEARS[0]})", "R2": "R1"}
