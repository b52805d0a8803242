"""Values that YAML parts at a comma: put together and reported as one; what is a list is left alone."""

import pytest

from certgen.survey.tree import Mapping, Scalar, Sequence, meant
from certgen.survey.yaml_reader import read_tree
from tests.survey.sound import findings, survey

LEFT = "R2: {operator: 0, drive: 0.02}"


def group(text: str) -> dict[str, str]:
    """Return the keys of a group in one line with their single values."""
    tree = read_tree("f", text)
    assert isinstance(tree, Mapping)
    return {key: entry.value.text for key, entry in tree.entries.items() if isinstance(entry.value, Scalar)}


def items(text: str) -> list[str]:
    """Return the single values of a list in one line."""
    tree = read_tree("f", text)
    assert isinstance(tree, Sequence)
    return [item.text for item in tree.items if isinstance(item, Scalar)]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("{a: 0,21}", {"a": "0,21"}),
        ("{a: -0,02 mm/m, b: 3}", {"a": "-0,02 mm/m", "b": "3"}),
        ("{a: 0,00, b: 0,00}", {"a": "0,00", "b": "0,00"}),
        ("{a: 1,450,000}", {"a": "1,450,000"}),
        ("{a: 1.450,5}", {"a": "1.450,5"}),
        ("{a: 0, 21}", {"a": "0", "21": ""}),
        ("{a: 0,21: 5}", {"a": "0", "21": "5"}),
        ("{a: '0',21}", {"a": "0", "21": ""}),
        ("{a: 0,'21'}", {"a": "0", "21": ""}),
        ("{a: 0.5,21}", {"a": "0.5", "21": ""}),
        ("{a: x,21}", {"a": "x", "21": ""}),
        ("{1,2}", {"1": "", "2": ""}),
    ],
)
def test_number_of_a_group_is_one(text: str, found: dict[str, str]) -> None:
    """Only digits right after the comma after digits, where no value follows, are put together."""
    assert group(text) == found


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("[0,05 mm, 0,1 mm]", ["0,05 mm", "0,1 mm"]),
        ("[7,0, 7,2]", ["7,0", "7,2"]),
        ("[7,0, 7,2, 7,1]", ["7,0", "7,2", "7,1"]),
        ("[0,02]", ["0,02"]),
        ("[7,0]", ["7", "0"]),
        ("[7,8,9,8]", ["7", "8", "9", "8"]),
        ("[7, 8, 9]", ["7", "8", "9"]),
        ("[7,8, 9]", ["7", "8", "9"]),
        ("[01,02]", ["01", "02"]),
        ("[1 mm,2 mm]", ["1 mm", "2 mm"]),
        ("[R1,R2]", ["R1", "R2"]),
        ("['0','05']", ["0", "05"]),
    ],
)
def test_numbers_of_a_list_are_one_where_that_is_sure(text: str, found: list[str]) -> None:
    """A list of whole numbers without spaces stays a list."""
    assert items(text) == found


@pytest.mark.parametrize(
    ("text", "ways"),
    [
        ("0,21", ("0.21",)),
        ("-1,5 mm", ("-1.5 mm",)),
        ("1,450", ("1.450", "1450")),
        ("1,450 mm", ("1.450 mm", "1450 mm")),
        ("0,450", ("0.450",)),
        ("1450,123", ("1450.123",)),
        ("1,450,000", ("1450000",)),
        ("1,450.5", ("1450.5",)),
        ("1.450,5", ("1450.5",)),
        ("1,4,5", ()),
        ("1.5", ()),
    ],
)
def test_meant_offers_every_reading(text: str, ways: tuple[str, ...]) -> None:
    """Three digits after one comma may be thousands: a thousand times more."""
    assert meant(text) == ways


def test_parted_number_is_reported_once() -> None:
    """Neither the rest is an unknown key nor the number one without a unit."""
    (found,) = findings((LEFT, "R2: {operator: 0, drive: 0,02 in}"))
    assert (found.where, found.got) == ("setups[0].as_left.R2.drive", "0,02 in")


def test_list_of_whole_readings_is_read() -> None:
    """Repeated readings in whole numbers, with or without spaces."""
    (reading,) = (one for one in survey((LEFT, "R2: {operator: 0, drive: [1,2]}")).setups[0].readings[2:])
    assert (reading.drive_mm, reading.repeats) == (1.5, (1, 2))
