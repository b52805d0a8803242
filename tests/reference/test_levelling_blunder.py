"""The published levelling networks with a blunder planted: which reading is named, and at what level.

The level follows from the published redundancy r alone: a blunder b in a reading of standard deviation s
moves its standardised residual by -b √r / s (Baarda 1968, from memory; Ghilani, Adjustment Computations,
chapter 21).
"""

from dataclasses import replace

import pytest

from certgen.network.quality import quality
from tests.reference.levelling import GHILANI, RING, Levelling, adjusted

# (network, reading, blunder in times its standard deviation)
PLANTED = [(RING, i, 9.0) for i in range(8)] + [(GHILANI, i, 14.0) for i in range(6)]


def planted(published: Levelling, index: int, times: float) -> Levelling:
    """Return the network with one reading off by so many of its standard deviations."""
    start, end, rise_m, sd_mm = published.readings[index]
    wrong = (start, end, rise_m + times * sd_mm / 1000.0, sd_mm)
    return replace(published, readings=(*published.readings[:index], wrong, *published.readings[index + 1 :]))


@pytest.mark.parametrize(("published", "index", "times"), PLANTED)
def test_planted_reading_is_named_first(published: Levelling, index: int, times: float) -> None:
    """Of all readings it is the one with the largest standardised residual."""
    suspects = quality(adjusted(planted(published, index, times))).suspects
    assert suspects
    assert suspects[0].index == index


@pytest.mark.parametrize(("published", "index", "times"), PLANTED)
def test_planted_blunder_moves_w_by_its_redundancy(published: Levelling, index: int, times: float) -> None:
    """From the sound network's w to that of the spoilt one, by the published redundancy."""
    before = quality(adjusted(published)).w[index]
    after = quality(adjusted(planted(published, index, times))).w[index]
    redundancy = 1.0 - (1.0 - published.f_percent[index] / 100.0) ** 2
    assert after - before == pytest.approx(-times * redundancy**0.5, rel=1e-4)


@pytest.mark.parametrize("published", [RING, GHILANI])
def test_smallest_detectable_blunder_follows_the_published_redundancy(published: Levelling) -> None:
    """4.13 s / √r for a risk of 0.1 % and a power of 80 %."""
    found = quality(adjusted(published)).residuals.detectable
    expected = [
        4.1321 * sd / (1.0 - (1.0 - f / 100.0) ** 2) ** 0.5
        for (_, _, _, sd), f in zip(published.readings, published.f_percent, strict=True)
    ]
    assert found == pytest.approx(expected, rel=1e-4)
