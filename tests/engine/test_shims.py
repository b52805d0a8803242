"""Shim packs against every pack there is: nearest, then fewest pieces, then the thinner."""

from fractions import Fraction
from functools import cache
from itertools import combinations_with_replacement
from math import inf

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from certgen.moves.steps import pack
from certgen.survey.survey import ShimStock
from tests.processor import processor_time
from tests.simulate.records import EXAMPLES

THOU = Fraction(254, 10000)
# stocks in thou and in hundredths of a millimetre, with the most pieces in one pack
INCH = (((1, 2, 3, 5, 10, 15, 25), 4), ((1, 2, 5, 10, 20, 50), 6), ((4, 7, 9, 30), 5), ((6, 10, 15), 3))
METRIC = (((5, 10, 20, 50, 100), 4), ((3, 7, 25, 40), 6), ((2, 5, 10, 15, 25, 50, 70, 100), 3))
PRIMES = tuple(Fraction(n, 1_000_000) for n in (25_409, 50_789, 76_207, 127_037, 254_003))


@cache
def every(stock: tuple[Fraction, ...], most: int) -> tuple[tuple[Fraction, tuple[Fraction, ...]], ...]:
    """Return the total and the pieces, thickest first, of every pack."""
    thickest_first = sorted(stock, reverse=True)
    found = (p for n in range(most + 1) for p in combinations_with_replacement(thickest_first, n))
    return tuple((sum(p, Fraction(0)), p) for p in found)


def brute(
    stock: tuple[Fraction, ...], most: int, wanted: Fraction, room: Fraction | None = None
) -> tuple[Fraction, ...]:
    """Return the best pack by looking at all; of equal ones the one with the thickest pieces first."""
    fits = [one for one in every(stock, most) if room is None or one[0] <= room]
    best = min((abs(wanted - total), len(pieces), total) for total, pieces in fits)
    return max(pieces for total, pieces in fits if (abs(wanted - total), len(pieces), total) == best)


def check(stock: tuple[Fraction, ...], most: int, wanted: Fraction, room: Fraction | None = None) -> None:
    """Compare one pack with the best of all."""
    held = ShimStock(tuple(float(size) for size in stock), most)
    found = pack(held, float(wanted), inf if room is None else float(room))
    best = brute(stock, most, wanted, room)
    assert found is not None
    assert found.pieces_mm == pytest.approx([float(size) for size in best], abs=1e-12)
    assert found.total_mm == pytest.approx(float(sum(best)), abs=1e-12)
    assert found.residual_mm == pytest.approx(float(wanted - sum(best)), abs=1e-12)


@pytest.mark.parametrize(("sizes", "most"), INCH)
def test_inch_pack_is_the_best_of_all(sizes: tuple[int, ...], most: int) -> None:
    """Every half thou up to 200 thou."""
    for halves in range(1, 401):
        check(tuple(size * THOU for size in sizes), most, halves * THOU / 2)


@pytest.mark.parametrize(("sizes", "most"), METRIC)
def test_metric_pack_is_the_best_of_all(sizes: tuple[int, ...], most: int) -> None:
    """Every hundredth of a millimetre up to 200 thou (5.08 mm)."""
    for hundredths in range(1, 509):
        check(tuple(Fraction(size, 100) for size in sizes), most, Fraction(hundredths, 100))


@EXAMPLES
@given(
    st.sets(st.integers(1, 60), min_size=1, max_size=5),
    st.integers(1, 5),
    st.integers(1, 200_000),
    st.integers(0, 200_000),
)
@example({10}, 1, 5000, 200_000)  # half way between no shim and one
@example({1, 60}, 5, 59_999, 59_999)
def test_pack_is_the_best_of_all(sizes: set[int], most: int, wanted: int, room: int) -> None:
    """Any stock in thou, any wanted thickness to a thousandth of a thou, with and without a limit."""
    stock = tuple(size * THOU for size in sizes)
    check(stock, most, wanted * THOU / 1000)
    check(stock, most, wanted * THOU / 1000, room * THOU / 1000)


@EXAMPLES
@given(st.integers(1, 2_000_000))
def test_pack_of_sizes_without_a_common_measure_is_the_best_of_all(nanometres: int) -> None:
    """Sizes as a micrometer would read them, up to 2 mm."""
    check(PRIMES, 4, Fraction(nanometres, 1_000_000))


def test_pack_mixes_inch_and_metric_shims() -> None:
    """2 thou and 0.05 mm differ by 0.8 µm, and the nearer one is taken."""
    stock = ShimStock((0.0508, 0.05), 2)
    assert [pack(stock, wanted).pieces_mm for wanted in (0.0502, 0.0507)] == [(0.05,), (0.0508,)]


@pytest.mark.parametrize("wanted", [0.0, -0.1])
def test_pack_is_for_raising_only(wanted: float) -> None:
    """What has to come down is no matter for adding shims."""
    assert pack(ShimStock((0.1,), 4), wanted) is None


def test_pack_may_be_empty() -> None:
    """A thickness below half of the thinnest shim is left as it is."""
    found = pack(ShimStock((0.1, 0.5), 4), 0.04)
    assert (found.pieces_mm, found.total_mm, found.residual_mm) == ((), 0.0, 0.04)


def test_pack_uses_all_it_may_where_that_is_too_thin() -> None:
    """Four of the thickest, and the rest is said."""
    found = pack(ShimStock((0.5, 0.2), 4), 3.0)
    assert found.pieces_mm == (0.5,) * 4
    assert found.residual_mm == pytest.approx(1.0)


def test_pack_prefers_the_thicker_shims_of_equal_packs() -> None:
    """10 + 2 before 7 + 5: fewer kinds of thin shim that crumple."""
    assert pack(ShimStock((0.02, 0.05, 0.07, 0.1), 2), 0.12).pieces_mm == (0.1, 0.02)


MANY = tuple(n * 0.0254 for n in (1, 2, 3, 4, 5, 7, 10, 12, 15, 20, 25, 31, 40, 50, 100))
ODD = tuple(0.0254 * n + 0.000001 * n * n for n in range(1, 16))


def nearest_of_all(sizes: tuple[float, ...], most: int, wanted: float) -> float:
    """Try every pack there is; return how near the best one comes."""
    packs = (some for n in range(most + 1) for some in combinations_with_replacement(sizes, n))
    return min(abs(sum(some) - wanted) for some in packs)


@pytest.mark.parametrize(("sizes", "wanted"), [(MANY, 5.0791), (ODD, 2.0791), (MANY, 900.0), (ODD, 900.0)])
def test_pack_of_many_sizes_is_found_at_once(sizes: tuple[float, ...], wanted: float) -> None:
    """Fifteen sizes and six pieces, with a common measure and without, thin and far too thick."""
    stock = ShimStock(sizes, 6)
    assert pack(stock, wanted) is not None
    all_of_them = processor_time(lambda: nearest_of_all(sizes, 6, wanted))
    assert processor_time(lambda: pack(stock, wanted)) < 10 * all_of_them
