"""Our unit definitions against the units library's own list."""

import math
from fractions import Fraction

import pint
import pytest

from certgen.survey.spellings import BASE, UNITS
from certgen.survey.units import convert

NAMES = sorted(
    {(kind, spelling, name) for kind, units in UNITS.items() for spelling, name in units.items() if name}
)


@pytest.fixture(scope="module")
def library() -> pint.UnitRegistry:
    """The registry with everything the library ships."""
    return pint.UnitRegistry(non_int_type=Fraction)


def test_every_definition_is_that_of_the_library(library: pint.UnitRegistry) -> None:
    """Every spelling of every kind, exactly (angles as the tangent, mm/m)."""
    for kind, spelling, name in NAMES:
        for number in ("0", "1", "37"):
            base = library.Quantity(Fraction(number), name).to(BASE[kind]).magnitude
            expected = 1000.0 * math.tan(float(base)) if kind == "angle" else float(base)
            if kind == "angle" and abs(float(base)) > 0.7:
                continue
            assert convert(number, spelling, kind) == expected, (kind, spelling)
