"""Dashes and quotation marks as a word processor sets them."""

import pytest

from certgen.survey.tree import still_open, unquoted, with_minus
from tests.survey.sound import findings


@pytest.mark.parametrize("dash", ["\u2010", "\u2011", "\u2012", "\u2013", "\u2014", "\ufe63", "\uff0d"])
def test_dash_before_a_number_is_named(dash: str) -> None:
    """It looks like a minus sign; what is right is written out."""
    (found,) = findings(("drive: -0.4", f"drive: {dash}0.4 mm"))
    assert (found.message, found.hint) == ("a dash stands for the minus sign", "Write -0.4 mm.")


def test_dash_before_a_decimal_comma_is_answered_for_both() -> None:
    """What is written out is right as a whole."""
    (found,) = findings(("drive: -0.4", "drive: \u20130,4"))
    assert found.hint == "Write -0.4."


def test_minus_sign_is_read() -> None:
    """The sign of mathematics is a minus sign."""
    assert findings(("drive: -0.4", "drive: \u22120.4")) == ()


@pytest.mark.parametrize("text", ["- 0.4", "x", "1\u20132", "\u2013", "\u2013x"])
def test_no_dash_before_a_number_is_left_alone(text: str) -> None:
    """A range or a lone dash is something else."""
    assert with_minus(text) is None


@pytest.mark.parametrize(
    ("text", "inside"),
    [
        ("\u201c3 Weir Lane\u201d", "3 Weir Lane"),
        ("\u201e3 Weir Lane\u201c", "3 Weir Lane"),
        ("\u00ab 3 Weir Lane \u00bb", "3 Weir Lane"),
        ("\u20183 Weir Lane\u2019", "3 Weir Lane"),
        ("3 O\u2019Neill Lane", None),
        ("the \u201cOld Lady\u201d", None),
        ('"plain"', None),
        ("\u201d", None),
        ("", None),
    ],
)
def test_unquoted_takes_a_text_quoted_as_a_whole(text: str, inside: str | None) -> None:
    """Marks inside a text belong to it."""
    assert unquoted(text) == inside


@pytest.mark.parametrize(
    ("text", "is_open"),
    [("\u201c3 Weir Lane", True), ("\u201cOld\u201d mill", False), ("3 Weir Lane", False), ("", False)],
)
def test_still_open_finds_what_a_comma_cut(text: str, is_open: bool) -> None:
    """A mark at the start that nothing closes."""
    assert still_open(text) is is_open


def test_quotation_marks_that_would_be_printed_are_warned_of() -> None:
    """Without a comma inside YAML reads them as a part of the text."""
    (found,) = findings(("address: 1 Test Lane", "address: \u201c1 Test Lane\u201d"))
    assert (found.severity, found.where) == ("warning", "contractor.address")
    assert found.message == "the quotation marks are part of the text"
