"""How an uncertainty is reported: JCGM 100:2008, 7.2.6, and EA-4/02."""

import pytest

from certgen.wording.rounding import fixed, places_for


def reported(expanded: float) -> str:
    """Return U as the certificate prints it."""
    return fixed(expanded, places_for(expanded))


@pytest.mark.parametrize(
    ("expanded", "shown"), [(10.47, "10"), (28.05, "28"), (0.02745, "0.027"), (0.0996, "0.10")]
)
def test_uncertainty_has_two_significant_digits(expanded: float, shown: str) -> None:
    """7.2.6: 28.05 kHz becomes 28 kHz; 10.47 mΩ may be rounded to nearest or up."""
    assert reported(expanded) == shown


def test_rounding_never_takes_more_than_five_per_cent_off() -> None:
    """EA-4/02 asks to round up where rounding would lower U by more than 5 %: at two digits it never does."""
    worst = max((u - float(reported(u))) / u for u in (i / 10_000.0 for i in range(100, 10_000)))
    assert worst <= 0.05 / 1.05 + 1e-12
