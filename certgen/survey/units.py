"""`NUMBER UNIT` to a float in mm, mm/m, °C, N/mm or N/mm²: the only file that knows the units library.

The library is loaded when the first quantity is converted, never earlier: it costs a quarter of a second.
It is given names from our own table only. Its parser evaluates arithmetic, so no text of a user's may
reach it. Factors are kept as exact fractions: the same length in inches and in millimetres then gives
the same float.
"""

import math
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Any

from certgen.survey.number_text import Wrong, exact, split
from certgen.survey.spellings import BASE, UNITS, Kind

DEFINITIONS = """
micro- = 1e-6
milli- = 1e-3
centi- = 1e-2
kilo- = 1e3
mega- = 1e6
giga- = 1e9
meter = [length]
second = [time]
kilogram = [mass]
kelvin = [temperature]; offset: 0
radian = []
inch = 0.0254 * meter
foot = 12 * inch
thou = 1e-3 * inch
degree_Celsius = kelvin; offset: 273.15 = degC
degree_Fahrenheit = 5 / 9 * kelvin; offset: 233.15 + 200 / 9 = degF
arcsecond = 3.14159265358979323846264338327950288419716939937510 / 648000 * radian
newton = kilogram * meter / second ** 2
pascal = newton / meter ** 2
pound = 0.45359237 * kilogram
force_pound = 9.80665 * pound * meter / second ** 2
psi = force_pound / inch ** 2
""".strip().splitlines()
ABSOLUTE_ZERO_C = -273.15
STEEPEST_RAD = math.pi / 4


@dataclass(frozen=True, slots=True)
class Measure:
    """A quantity in the base unit of its kind, and as it was written with its unit."""

    value: float
    kind: Kind
    written: str


def measure(text: str, kinds: tuple[Kind, ...], default: str | None = None) -> Measure:
    """Return the quantity `text` states; a bare number takes the unit `default`. Raises Wrong.

    An angle comes back as a slope (its tangent, mm/m); a percentage as a fraction of 1.
    """
    number, unit = split(text, kinds, default)
    kind = next((kind for kind in kinds if unit in UNITS[kind]), None)
    if kind is None:
        raise Wrong.unit(unit, kinds)
    value = _finite(convert(number, unit, kind), kinds)
    return Measure(value, "slope" if kind == "angle" else kind, f"{number} {unit}")


def convert(number: str, unit: str, kind: Kind) -> float:
    """Return a number with an allowed unit in the base unit of its kind; Raises Wrong."""
    amount = exact(number)
    if kind == "division":
        return _as_float(amount)
    if kind == "percent":
        return _as_float(amount / 100)
    scale, offset = _scale(UNITS[kind][unit], BASE[kind])
    base = _as_float(amount * scale + offset)
    return _tangent(base) if kind == "angle" else base


def _as_float(amount: Fraction) -> float:
    try:
        return float(amount)
    except OverflowError:
        raise Wrong("the number is too large", "Write a size that a machine can have.") from None


def _tangent(angle_rad: float) -> float:
    if abs(angle_rad) > STEEPEST_RAD:
        raise Wrong("the angle is larger than 45 degrees", "Check the unit.")
    return math.tan(angle_rad) * 1000


def _finite(value: float, kinds: tuple[Kind, ...]) -> float:
    if "temperature" in kinds and value < ABSOLUTE_ZERO_C:
        raise Wrong("this is below absolute zero", "Check the sign and the unit.")
    return value


@cache
def _registry() -> Any:  # the library publishes no types
    import pint

    registry = pint.UnitRegistry(None, non_int_type=Fraction)
    registry.load_definitions(DEFINITIONS)
    return registry


@cache
def _scale(unit: str, base: str) -> tuple[Fraction, Fraction]:
    """Return (scale, offset) such that value in `base` = value in `unit` * scale + offset."""
    offset = _registry().Quantity(Fraction(0), unit).to(base).magnitude
    one = _registry().Quantity(Fraction(1), unit).to(base).magnitude
    return Fraction(one) - Fraction(offset), Fraction(offset)
