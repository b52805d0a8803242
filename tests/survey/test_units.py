"""Quantities: exact conversions, and plain words for everything that is none."""

import math

import pytest

from certgen.survey.number_text import Wrong
from certgen.survey.units import measure
from tests.processor import processor_time

SLOPE = ("slope", "angle")
FORCE_POUND_N = 4.4482216152605  # NIST SP 811 (2008), B.8: pound-force, exact


@pytest.mark.parametrize(
    ("text", "millimetres"),
    [
        ("1 in", 25.4),  # NIST SP 811 (2008), B.6: all exact
        ("1 inch", 25.4),
        ('1"', 25.4),
        ("1 ft", 304.8),
        ("1 mil", 0.0254),
        ("1 thou", 0.0254),
        ("1000 um", 1.0),
        ("1000 µm", 1.0),
        ("1000 \u03bcm", 1.0),
        ("2.5 cm", 25.0),
        ("0.5 m", 500.0),
        ("-7 thou", -0.1778),
        ("\u22127thou", -0.1778),
        ("+.5 mm", 0.5),
        ("1e-3 m", 1.0),
        ("  14.2   mm  ", 14.2),
        ("0.1 mm", 0.1),
        ("0 mm", 0.0),
        ("0e999999999 mm", 0.0),
    ],
)
def test_length_is_converted_exactly(text: str, millimetres: float) -> None:
    """A length comes out as the nearest float, not merely near it."""
    assert measure(text, ("length",)).value == millimetres


@pytest.mark.parametrize(
    ("text", "mm_per_m"),
    [
        ("0.02 mm/m", 0.02),
        ("20 um/m", 0.02),
        ("0.0005 in/ft", 1 / 24),  # NIST SP 811 lengths: 0.0127 mm over 304.8 mm
        ("0.5 thou/ft", 1 / 24),
        ("1 mil/ft", 1 / 12),
        ("1 mil / ft", 1 / 12),
        ("0.001 in/in", 1.0),
        ("1 in/ft", 1000 / 12),
    ],
)
def test_slope_is_length_over_length(text: str, mm_per_m: float) -> None:
    """Any length over any length is a slope."""
    assert measure(text, SLOPE).value == mm_per_m


@pytest.mark.parametrize(
    ("text", "mm_per_m"),
    [
        ("1 arcsec", 0.004848136811133344),  # NIST SP 811, B.8: second of arc in rad; its tangent
        ("4 arcsec", 0.01939254724681243),
        ("20 arcsec", 0.09696273652578105),
        ("60 arcsec", 0.2908882168703159),
        ("1 mrad", 1000 * math.tan(0.001)),
        ("1000 urad", 1000 * math.tan(0.001)),
        ("1000 µrad", 1000 * math.tan(0.001)),
        ("0.1 rad", 1000 * math.tan(0.1)),
    ],
)
def test_angle_becomes_its_tangent(text: str, mm_per_m: float) -> None:
    """An angle is the slope of its tangent."""
    found = measure(text, SLOPE)
    assert found.kind == "slope"
    assert found.value == pytest.approx(mm_per_m, rel=1e-14)


@pytest.mark.parametrize(
    ("text", "celsius"),
    [
        ("68 degF", 20.0),
        ("32 °F", 0.0),
        ("212 degF", 100.0),
        ("-40 degF", -40.0),
        ("21.5 degC", 21.5),
        ("20 °C", 20.0),
        ("273.15 K", 0.0),
        ("0 K", -273.15),
    ],
)
def test_temperature_is_converted_exactly(text: str, celsius: float) -> None:
    """Temperatures have a zero of their own (NIST SP 811, B.8)."""
    assert measure(text, ("temperature",)).value == celsius


@pytest.mark.parametrize(
    ("text", "kind", "base"),
    [
        ("150 N/m", "tension", 0.15),
        ("0.15 N/mm", "tension", 0.15),
        ("0.15 kN/m", "tension", 0.15),
        ("1 lbf/in", "tension", FORCE_POUND_N / 25.4),
        ("1 pli", "tension", FORCE_POUND_N / 25.4),
        ("12 lbf/ft", "tension", FORCE_POUND_N / 25.4),
        ("3.5 GPa", "modulus", 3500.0),
        ("3500 MPa", "modulus", 3500.0),
        ("3500 N/mm2", "modulus", 3500.0),
        ("3500 N/mm²", "modulus", 3500.0),
        ("3500000 kPa", "modulus", 3500.0),
        ("1 psi", "modulus", FORCE_POUND_N / 25.4**2),
        ("1 ksi", "modulus", 1000 * FORCE_POUND_N / 25.4**2),
        ("95 %", "percent", 0.95),
        ("1.5 div", "division", 1.5),
    ],
)
def test_other_quantities_are_converted(text: str, kind: str, base: float) -> None:
    """Web tension, modulus, per cent and divisions."""
    assert measure(text, (kind,)).value == pytest.approx(base, rel=1e-15)


def test_bare_number_takes_the_default() -> None:
    """A bare number is in the unit given for it, and says so when it is written out."""
    found = measure("7", ("length",), "thou")
    assert (found.value, found.written) == (0.1778, "7 thou")


@pytest.mark.parametrize(
    ("text", "message", "hint"),
    [
        ("7", "without a unit", "7 mm"),
        ("", "no value", "mm"),
        ("nan mm", "not a finite number", "mm"),
        (".inf", "not a finite number", "mm"),
        ("-Infinity mm", "not a finite number", "mm"),
        ("1e400 mm", "too large", "machine"),
        ("1e306 m", "too large", "machine"),
        ("1e-400 mm", "too small", "machine"),
        ("1e-99999999999 mm", "too small", "machine"),
        ("2,5 mm", "comma", "write 2.5 mm"),
        ("1,250.5 mm", "comma", "decimal point"),
        ("12 ft 6 in", "two numbers", "150 in"),
        ("12' 6.5\"", "two numbers", "150.5 in"),
        ("-1 ft 6 in", "two numbers", "-18 in"),
        ("1/2 in", "fraction", "0.5 in"),
        ("2 3/8 in", "fraction", "2.375 in"),
        ("1/0 in", "fraction", "mm"),
        ("5 mm + 2 mm", "arithmetic", "one number with one unit"),
        ("9**9**9 mm", "arithmetic", "one number with one unit"),
        ("(2) mm", "not a number with a unit", "mm"),
        ("mm", "not a number with a unit", "mm"),
        ("2 MM", "not a unit known here", "Did you mean mm?"),
        ("2 inches", "not a unit known here", "Did you mean inch?"),
        ("2 degC", "degC is a unit of temperature, not of length", "mm"),
        ("2 mm/m", "mm/m is a unit of slope, not of length", "mm"),
        ("2 div", "div is a unit of a level's divisions", "mm"),
        ("1_000 mm", "arithmetic", "mm"),
        ("0x10 mm", "arithmetic", "mm"),
        ("\u0661 mm", "not a number with a unit", "mm"),
        ("2.5 mm\n", None, None),
    ],
)
def test_length_says_what_to_write(text: str, message: str | None, hint: str | None) -> None:
    """What is no length is refused in plain words, with what would be right."""
    if message is None or hint is None:
        assert measure(text, ("length",)).value == 2.5
        return
    with pytest.raises(Wrong) as wrong:
        measure(text, ("length",))
    assert message in wrong.value.message
    assert hint in wrong.value.hint


@pytest.mark.parametrize("text", ["-1 K", "-274 degC", "-500 degF"])
def test_temperature_below_absolute_zero_is_refused(text: str) -> None:
    """Nothing is colder than absolute zero."""
    with pytest.raises(Wrong, match="absolute zero"):
        measure(text, ("temperature",))


def test_angle_over_45_degrees_is_refused() -> None:
    """No roll is so far out; a unit has slipped."""
    with pytest.raises(Wrong, match="45 degrees"):
        measure("1 rad", SLOPE)


@pytest.mark.parametrize("text", ["9" * 4_000_000, "1 " + "m" * 4_000_000, "1/" * 2_000_000, "e" * 4_000_000])
def test_long_text_is_refused_at_once(text: str) -> None:
    """Length alone says that it is no quantity."""

    def measured(one: str) -> str:
        with pytest.raises(Wrong) as wrong:
            measure(one, ("length",))
        return wrong.value.message + wrong.value.hint

    assert len(measured(text)) < 300
    assert processor_time(lambda: measured(text)) < 1000 * processor_time(lambda: measured("1 foo"))
