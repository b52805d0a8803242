"""Readings, moves and slopes as text, to the digit: figures converted by hand."""

import pytest

from certgen.moves.after_moves import AdjustmentCheck
from certgen.moves.steps import ShimPack
from certgen.moves.stop_readings import LevelStop
from certgen.wording import values
from certgen.wording.rounding import INCH, METRIC
from certgen.wording.values import Numbers

MM, IN, BOTH = (Numbers(units, "guarded") for units in ((METRIC,), (INCH,), (METRIC, INCH)))
# 0.123456 mm are 4.86047 thou; 0.012346 mm/m are 0.148152 thou/ft


@pytest.mark.parametrize(
    ("numbers", "length", "slope"),
    [(MM, "+0.123", "+0.0123"), (IN, "+4.9", "+0.148"), (BOTH, "+0.123\n+4.9", "+0.0123\n+0.148")],
)
def test_reading_has_the_digits_of_its_instrument(numbers: Numbers, length: str, slope: str) -> None:
    """The laser's to 0.001 mm or 0.1 thou, the level's to 0.0001 mm/m or 0.001 thou/ft."""
    assert numbers.reading(0.123456, slope=False) == length
    assert numbers.reading(0.012346, slope=True) == slope


@pytest.mark.parametrize(
    ("numbers", "signed", "bare"), [(MM, "−0.123", "0.123"), (IN, "−4.9", "4.9"), (BOTH, "−0.123\n−4.9", "")]
)
def test_move_has_three_places_in_mm_and_one_in_thou(numbers: Numbers, signed: str, bare: str) -> None:
    """Finer than it can be set, with its sign where it has one."""
    assert numbers.small(-0.123456) == signed
    if bare:
        assert numbers.small(0.123456, signed=False) == bare


def test_value_stands_at_the_place_of_its_uncertainty() -> None:
    """Two digits of U 0.0187 mm/m (0.22 thou/ft) and of 0.0187 mm (0.74 thou)."""
    assert BOTH.slope(0.123456, 0.0187) == "+0.123\n+1.48"
    assert BOTH.length(0.123456, 0.0187) == "+0.123\n+4.86"
    assert MM.slope(0.123456, 0.0042) == "+0.1235"


def test_crew_reads_moves_and_readings_with_their_unit() -> None:
    """A move without its sign, which words give; a reading with it."""
    assert values.amount(BOTH, -0.123456) == "0.123 mm / 4.9 thou"
    assert values.reading(BOTH, -0.123456) == "−0.123 mm / −4.9 thou"
    assert values.reading(MM, 0.0) == "0.000 mm"


def test_crew_reads_slopes_to_a_thousandth_of_a_mm_per_m() -> None:
    """Or a hundredth of a thou/ft; a limit keeps two digits of its own."""
    assert values.slope(BOTH, 0.012346) == "+0.012 mm/m / +0.15 thou/ft"
    assert values.slope(MM, 0.012346, signed=False) == "0.012 mm/m"
    assert values.limit(BOTH, 0.0148) == "0.015 mm/m / 0.18 thou/ft"
    assert values.limit(MM, 0.00148) == "0.0015 mm/m"


def test_crew_reads_the_level_in_divisions_first() -> None:
    """To a tenth of a division, the slope behind it."""
    assert values.level_reading(MM, LevelStop(0.0, 0.0462, 2.31)) == "+2.3 div (+0.046 mm/m)"
    assert values.level_reading(MM, LevelStop(0.0, -0.0462, None)) == "−0.046 mm/m"


def test_crew_reads_places_to_a_tenth() -> None:
    """2743.2 mm are 108 in."""
    assert values.place(BOTH, 2743.2) == "2743.2 mm / 108 in"


@pytest.mark.parametrize(
    ("page", "size_mm", "shown", "in_a_cell"),
    [
        (IN, 0.05, "0.05 mm", "0.05 mm"),
        (BOTH, 0.05, "0.05 mm", "0.05 mm"),
        (BOTH, 0.0254, "1 thou", "1 thou"),
        (BOTH, 0.254, "10 thou", "10 thou"),
        (BOTH, 0.127, "5 thou", "5 thou"),
        (MM, 0.0254, "1 thou", "1 thou"),
        (MM, 0.05, "0.05 mm", "0.05"),
        (BOTH, 2.54, "2.54 mm / 100 thou", "2.54\n100"),
        (IN, 0.033, "1.2992 thou", "1.2992"),
    ],
)
def test_shims_are_named_by_the_size_they_are_sold_in(
    page: Numbers, size_mm: float, shown: str, in_a_cell: str
) -> None:
    """A stock in millimetres is not turned into thou with digits that no shim has."""
    pack = ShimPack((size_mm,), size_mm, 0.0)
    found = values.pieces(page, pack), values.bare_pieces(page, pack)
    assert found == (shown, in_a_cell)


def test_shims_are_counted_thickest_first() -> None:
    """0.254 + 2 of 0.0508 mm: 10 and 2 thou, and so they are called."""
    pack = ShimPack((0.254, 0.0508, 0.0508), 0.3556, 0.0)
    assert values.pieces(BOTH, pack) == "10 + 2 × 2 thou"
    assert values.bare_pieces(IN, pack) == "10 + 2 × 2"
    assert values.bare_pieces(MM, pack) == "10 + 2 × 2 thou"


@pytest.mark.parametrize(
    ("difference", "expanded", "result", "shown"),
    [
        (0.0127, 0.0224, "agrees", ("+0.013", "0.022")),
        # to the place of U they would look equal, and as if they agreed
        (0.02245, 0.0224, "differs", ("+0.02245", "0.02240")),
        (-0.0224, 0.0224, "agrees", ("−0.022", "0.022")),
    ],
)
def test_check_of_a_move_is_printed_as_it_was_judged(
    difference: float, expanded: float, result: str, shown: tuple[str, str]
) -> None:
    """More digits where the printed ones would say otherwise."""
    check = AdjustmentCheck((0.0, 0.1), 0.05, 0.05 + difference, difference, 0.0112, expanded, result)
    assert values.check_cells(MM, check)[2:] == shown
