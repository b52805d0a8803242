"""Ties to the reference: the gauge of the monuments, and what is said where a tie is missing."""

from dataclasses import replace

import pytest

from certgen.findings import Place
from certgen.network.parallel import fixed_monuments
from certgen.network.solution import steep, tied_network, untied
from certgen.survey.survey import Reference, Survey
from tests.simulate.records import read, roll, setup, survey

STATIONS = {"M1": 0.0, "M2": 1000.0, "M3": 2000.0, "M4": 3000.0}


def line(*setups, **changes) -> Survey:
    """Return a survey of R1 (the reference), R2 and R3."""
    rolls = (roll("R1"), roll("R2", 1000.0), roll("R3", 2000.0))
    return survey(rolls, setups, STATIONS, **changes)


def monuments(*names: str) -> dict[str, float]:
    """Return readings of zero on these monuments."""
    return dict.fromkeys(names, 0.0)


FIRST = setup("A", monuments("M1", "M2"), read("R1", 0.0, 0.0), read("R2", 0.0, 0.1))


def test_gauge_fixes_one_monument_of_each_group():
    """A, B share M2; C stands apart: M1 holds the first group, M3 the second."""
    setups = (
        setup("A", monuments("M1", "M2")),
        setup("C", monuments("M3", "M4")),
        setup("B", monuments("M2")),
    )
    assert fixed_monuments(setups, ()) == {"M1", "M3"}


def test_gauge_joins_groups_through_a_later_setup():
    """M1, M2 and M3, M4 become one group once a setup reads M2 and M3."""
    setups = (
        setup("A", monuments("M1", "M2")),
        setup("B", monuments("M3", "M4")),
        setup("C", monuments("M2", "M3")),
    )
    assert fixed_monuments(setups, ()) == {"M1"}


def test_gauge_of_an_offset_line_is_the_line():
    """Its monuments are all at zero; a group without any of them still needs one."""
    setups = (setup("A", monuments("M2", "M1", "M3")), setup("B", monuments("M4")))
    assert fixed_monuments(setups, ("M1", "M3")) == {"M1", "M3", "M4"}


def test_tied_setups_yield_no_finding():
    """Two common monuments tie the second setup."""
    assert untied(line(FIRST, setup("B", monuments("M1", "M2"), read("R3", 0.0, 0.0)))) == ()


def test_reference_read_in_every_setup_ties_without_monuments():
    """Each setup that reads the reference roll is tied by itself."""
    again = setup("B", {}, read("R1", 0.0, 0.2), read("R3", 0.0, 0.0))
    assert untied(line(setup("A", {}, read("R1", 0.0, 0.0)), again)) == ()


def test_common_roll_ties_two_setups():
    """A roll read in both, in one condition, carries the direction over."""
    assert untied(line(FIRST, setup("B", {}, read("R2", 0.0, 0.3), read("R3", 0.0, 0.0)))) == ()


def test_roll_moved_in_between_ties_nothing():
    """Read as found in one setup and as left in the other, R2 carries no direction; both are lost."""
    (finding,) = untied(line(FIRST, setup("B", {}, read("R2", 0.0, 0.3, "as_left"), read("R3", 0.0, 0.0))))
    assert (finding.severity, finding.where) == ("error", "setups[1]")
    assert "setup B has no tie to the reference" in finding.message
    assert "R2, R3" in finding.message


def test_untied_setup_is_told_every_way_to_tie_it():
    """The reference roll, or the monuments of the setup before."""
    (finding,) = untied(line(FIRST, setup("B", {}, read("R3", 0.0, 0.0))))
    assert "both ends of the reference roll R1" in finding.hint
    assert "M1 and M2 (monuments of setup A)" in finding.hint


def test_setup_that_shares_one_monument_is_told_the_other():
    """M2 alone carries no direction; with M1 it does."""
    (finding,) = untied(line(FIRST, setup("B", monuments("M2", "M3"), read("R3", 0.0, 0.0))))
    assert "M1 (monuments of setup A)" in finding.hint


def test_setup_that_shares_one_of_three_monuments_is_told_one_more():
    """Of M1, M2 and M3, one more beside M2 is enough."""
    first = setup("A", monuments("M1", "M2", "M3"), read("R1", 0.0, 0.0))
    (finding,) = untied(line(first, setup("B", monuments("M2"), read("R3", 0.0, 0.0))))
    assert "or M1 (monuments of setup A)" in finding.hint


def test_setups_tied_to_each_other_only_are_both_named():
    """B and C share two monuments, yet neither sees the reference."""
    rest = (
        setup("B", monuments("M3", "M4"), read("R2", 0.0, 0.0)),
        setup("C", monuments("M3", "M4"), read("R3", 0.0, 0.0)),
    )
    assert [finding.where for finding in untied(line(setup("A", {}, read("R1", 0.0, 0.0)), *rest))] == [
        "setups[1]",
        "setups[2]",
    ]


def test_following_the_hint_ties_the_setup():
    """With what the hint asks for, nothing is left to say."""
    for mended in (
        setup("B", {}, read("R3", 0.0, 0.0), read("R1", 0.0, 0.0)),
        setup("B", monuments("M1", "M2"), read("R3", 0.0, 0.0)),
    ):
        assert untied(line(FIRST, mended)) == ()


def test_setup_off_the_offset_line_is_told_its_monuments():
    """Against an offset line, the missing monuments of the line are named."""
    against = Reference(None, ("M1", "M3"))
    (finding,) = untied(line(setup("A", monuments("M1", "M2"), read("R2", 0.0, 0.0)), reference=against))
    assert "the monuments of the reference line (M3)" in finding.hint


def test_setup_that_saw_one_other_monument_gives_no_way() -> None:
    """One monument carries no direction into a setup that has not seen it; nor has it to be read again."""
    first = setup("A", monuments("M1"), read("R1", 0.0, 0.0))
    (finding,) = untied(line(first, setup("B", {}, read("R3", 0.0, 0.0))))
    assert finding.hint == "In setup B also read both ends of the reference roll R1."


def test_roll_of_a_tied_setup_is_named_as_a_way() -> None:
    """The last one that the tied setup read, never the reference; a setup that is loose itself lends none."""
    loose = (setup("B", {}, read("R3", 0.0, 0.0)), setup("C", {}, read("R4", 0.0, 0.0)))
    first = setup("A", {}, read("R2", 0.0, 0.0), read("R1", 0.0, 0.0))
    taken = line(first, *loose)
    faults = untied(replace(taken, rolls=(*taken.rolls, roll("R4", 3000.0))))
    way = "both ends of the reference roll R1, or roll R2 as it stood in setup A."
    assert [fault.hint for fault in faults] == [f"In setup {name} also read {way}" for name in "BC"]


def test_last_roll_of_the_first_tied_setup_is_named_and_two_of_its_monuments() -> None:
    """One way of each kind and setup is enough: of A its last roll, of A and of C two monuments each."""
    rolls = tuple(roll(name) for name in ("R1", "R2", "R3", "R4", "R5"))
    first = setup("A", monuments("M1", "M2", "M3"), *(read(name, 0.0, 0.0) for name in ("R1", "R2", "R3")))
    second = setup("C", monuments("M3", "M4"), read("R1", 0.0, 0.0), read("R4", 0.0, 0.0))
    (finding,) = untied(replace(line(first, second, setup("B", {}, read("R5", 0.0, 0.0))), rolls=rolls))
    assert finding.hint == (
        "In setup B also read both ends of the reference roll R1, or roll R3 as it stood in setup A, or M1 "
        "and M2 (monuments of setup A), or M3 and M4 (monuments of setup C)."
    )


def test_reading_that_is_set_aside_ties_nothing() -> None:
    """R2 was read in both setups, in B with a reason to leave it out; neither does the hint lean on it."""
    again = replace(read("R2", 0.0, 0.3), exclude="roll was turning")
    (finding,) = untied(line(FIRST, setup("B", {}, again, read("R3", 0.0, 0.0))))
    assert finding.message == "setup B has no tie to the reference, so the slope of R3 cannot be told"


def test_setup_without_rolls_has_nothing_that_could_be_told() -> None:
    """It is named all the same, and its finding stands at the beginning where the file gives no place."""
    (finding,) = untied(line(FIRST, setup("B", monuments("M3", "M4"))))
    assert finding.message == "setup B has no tie to the reference, so the slope of nothing cannot be told"
    assert finding.place == Place(1, 1)


def test_finding_stands_at_the_place_of_its_setup():
    """The place of the setup in the file is the place of the finding."""
    loose = setup("B", {}, read("R3", 0.0, 0.0))
    (finding,) = untied(line(FIRST, loose, places={"setups[1]": Place(30, 3)}))
    assert finding.place == Place(30, 3)


def test_survey_without_setups_has_nothing_to_tie():
    """Level alone needs no tie."""
    assert untied(line()) == ()


def steeply(*slopes: float) -> Survey:
    """Return R1 read from A, and R2 and R3 at these slopes (mm/m) from B, which only monuments tie to it."""
    seen = (read(name, 0.0, 2.1 * slope) for name, slope in zip(("R2", "R3"), slopes, strict=True))
    first = setup("A", monuments("M1", "M2"), read("R1", 0.0, 0.0))
    return line(first, setup("B", monuments("M1", "M2"), *seen))


@pytest.mark.parametrize("slopes", [(50.0, 125.0), (50.0, -125.0), (110.0, 125.0)])
def test_setup_that_puts_a_roll_where_none_can_lie_names_the_worst(slopes: tuple[float, float]) -> None:
    """Over 100 mm/m from the reference, either way; one finding for a setup, at its place in the file."""
    taken = replace(steeply(*slopes), places={"setups[1]": Place(44, 5)})
    network, _ = tied_network(taken)
    assert network is not None
    (finding,) = steep(taken, network)
    assert (finding.severity, finding.where, finding.place) == ("error", "setups[1]", Place(44, 5))
    assert finding.message == "setup B puts roll R3 125 mm/m from the reference, over 100 mm/m"


def test_roll_that_leans_within_what_a_line_can_is_none_of_those() -> None:
    """99 mm/m either way."""
    taken = steeply(99.0, -99.0)
    network, _ = tied_network(taken)
    assert network is not None
    assert steep(taken, network) == ()
