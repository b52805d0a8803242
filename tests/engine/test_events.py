"""What is tested as an event: patterns over the readings, from observations written down by hand."""

import pytest

from certgen.network import reliability
from certgen.network.equations import Label, Observation, Unknown
from certgen.network.reliability import Event, movements, seating_of, single


def row(label: Label, at_m: float = 0.0) -> Observation:
    """Return an observation of that label at a place across the machine; its equation takes no part."""
    return Observation({Unknown("any", "x"): 1.0}, 0.0, 1.0, label, at_m=at_m)


def mark(name: str, in_setup: str) -> Observation:
    """Return a monument reading."""
    return row(Label("monument", in_setup, None, name))


def ends(name: str, in_setup: str, which: str) -> list[Observation]:
    """Return both ends of a seating, 0.3 m and 2.4 m from the first target."""
    return [
        row(Label("roll", in_setup, name, None, side, which), at)
        for side, at in (("operator", 0.3), ("drive", 2.4))
    ]


@pytest.mark.parametrize(
    ("label", "pattern"),
    [
        (Label("roll", "A", "R2", None, "drive", "as_found"), {0: 1.0}),
        (Label("monument", "A", None, "M1"), {0: 1.0}),
        (Label("level", None, "R2"), {0: 1.0}),
        (Label("prior", side="squareness"), {0: 1.0}),
        (Label("prior", side="level_zero"), {0: 1.0}),
        (Label("prior", side="level_plane", round="as_left"), {0: 1.0}),
        (Label("prior", side="scale"), {}),
        (Label("prior", "A", side="squareness"), {}),
        (Label("prior", None, "R2", side="level_zero"), {}),
        (Label("prior", "A", "R2", side="level_plane"), {}),
        (Label("prior", "A", side="drift"), {}),
        (Label("prior", None, "R2", side="run_out"), {}),
    ],
)
def test_of_what_was_stated_only_what_holds_for_the_line_is_tested(
    label: Label, pattern: dict[int, float]
) -> None:
    """Readings always are. A statement on one roll or setup is that this seating is off; a scale none."""
    assert reliability.tested([row(label)]) == (Event("reading", pattern),)
    assert single([row(label)]) == (Event("reading", {0: 1.0}),)


def test_events_keep_the_places_of_the_observations() -> None:
    """What is not tested keeps its place without a pattern."""
    rows = [mark("M1", "A"), row(Label("prior", side="scale")), mark("M2", "A")]
    assert [event.pattern for event in reliability.tested(rows)] == [{0: 1.0}, {}, {2: 1.0}]


def test_monument_may_have_moved_before_each_of_its_readings() -> None:
    """Off are all from there on; M2 was read between, and twice in setup B."""
    rows = [mark("M1", "A"), mark("M2", "A"), mark("M1", "B"), mark("M2", "B"), mark("M2", "B")]
    found = [(event.between, event.pattern) for event in movements(rows)]
    assert found == [
        ((None, "A"), {0: 1.0, 2: 1.0}),
        (("A", "B"), {2: 1.0}),
        ((None, "A"), {1: 1.0, 3: 1.0, 4: 1.0}),
        (("A", "B"), {3: 1.0, 4: 1.0}),
        (("B", "B"), {4: 1.0}),
    ]
    assert {event.kind for event in movements(rows)} == {"monument moved"}


def test_setup_may_have_turned_between_its_rounds() -> None:
    """Either round is off by the turn times the place, downstream ends back: as left first, then as found."""
    rows = [*ends("R1", "A", "as_found"), mark("M1", "A"), *ends("R2", "A", "as_left")]
    turns = [event for event in movements(rows) if event.kind == "setup moved"]
    assert [(event.pattern, event.between) for event in turns] == [
        ({3: -0.3, 4: -2.4}, None),
        ({0: -0.3, 1: -2.4}, None),
    ]


def test_setup_of_one_round_did_not_turn_between_rounds() -> None:
    """A read as found only, B as left only: neither has two rounds that could differ."""
    assert movements([*ends("R1", "A", "as_found"), *ends("R1", "B", "as_left")]) == ()


def test_both_ends_are_one_seating() -> None:
    """Of a roll and of heights; the faces of a level and monuments stand for themselves."""
    label = Label("roll", "A", "R2", None, "drive", "as_found", 1, "w")
    assert seating_of(label) == seating_of(label._replace(side="operator")) == label._replace(side=None)
    assert seating_of(label._replace(source="height")).side is None
    assert seating_of(label._replace(source="level")).side == "drive"
    assert seating_of(label) != seating_of(label._replace(series=2))
