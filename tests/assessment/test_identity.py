"""The same roll over several surveys: by id, by what it was, never by an id that another took over."""

from dataclasses import replace
from itertools import combinations

from certgen.survey.survey import Survey, Visit
from certgen.visits.standing import identities
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


def test_was_may_stay_in_the_files_of_later_years() -> None:
    """Whichever of the surveys are held together, and though another roll comes under the old id."""
    years = [survey(0, "A", "X"), survey(1, "B<A", "X"), survey(2, "B<A", "X"), survey(3, "B<A", "X", "A")]
    whole = identities(years)
    assert [one.get("B", one.get("A")) for one in whole] == ["B"] * 4
    assert whole[3]["A"] == "A"
    for first, last in combinations(range(4), 2):
        found = identities([years[first], years[last]])
        assert found == (whole[first], whole[last])


def test_swap_may_stay_in_the_files_of_later_years() -> None:
    """Each roll is what it was in the year of the swap, and in the years since it is itself."""
    swapped = ("R1<R2", "R2<R1")
    found = identities([survey(0, "R1", "R2"), survey(1, *swapped), survey(2, *swapped)])
    assert found == ({"R1": "R2", "R2": "R1"}, *({"R1": "R1", "R2": "R2"},) * 2)


def test_was_holds_where_only_an_earlier_survey_says_it() -> None:
    """A survey in between that lacks the roll, or has dropped `was`, loses nothing."""
    found = identities([survey(0, "A"), survey(1, "X"), survey(2, "B<A"), survey(3, "B")])
    assert [one.get("A", one.get("B")) for one in found] == ["B", None, "B", "B"]


def test_vanished_rolls_of_one_name_and_day_are_counted() -> None:
    """Two rolls left the id R1 between surveys of one day; a third one bears it now."""
    found = identities([survey(0, "R1", "Y"), survey(0, "R1<Y", "Z"), survey(1, "R1<Z")])
    dated = f"R1 ({YEARS[0]})"
    assert found == ({"R1": f"{dated} 2", "Y": dated}, {"R1": dated, "Z": "R1"}, {"R1": "R1"})
