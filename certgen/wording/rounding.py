"""Numbers become text here and nowhere else.

U is printed to two significant digits and the value to the same place (JCGM 100:2008, 7.2.6); rounding is
to nearest, ties to even (ISO 80000-1:2009, B.3 rule A). A value whose rounding would contradict its verdict
gets more digits.

The last digits of a float are another processor's to round otherwise. So a number is first rounded far
beyond what is printed: what is a tie but for those digits is a tie everywhere, and prints alike. That came
with rule 2; rule 1 took every digit of the float. Rule 3 rounds to tens or hundreds where U has more than
two digits before the decimal sign; the rules before it kept them all. Certificates are held against the rule
by which they were printed.
"""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Context, Decimal
from typing import Literal

from certgen.assessment.assessment import Measured
from certgen.assessment.rules import Rule

Kind = Literal["slope", "small", "dimension", "temperature", "number"]

MINUS = "\N{MINUS SIGN}"
POINT = "."
NOTHING = "\N{EN DASH}"
_MOST_EXTRA_DIGITS = 8
_EVEN = Context(prec=400, rounding=ROUND_HALF_EVEN)  # as many digits as any float takes
_BEYOND = 6  # places beyond those that are printed
_SIGNIFICANT = 9  # digits of a number whose size decides how many are printed
_WHOLE_TENS = 3  # the rule that first rounded to tens
RULE = 3
_rule = ContextVar("rule", default=RULE)


@contextmanager
def rounding_rule(rule: int) -> Iterator[None]:
    """Round by another rule than the present one, to print again what was printed by it."""
    before = _rule.set(rule)
    try:
        yield
    finally:
        _rule.reset(before)


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit on the page: its sign, and how many of it make one of the engine's own (mm, mm/m)."""

    sign: str
    per_engine_unit: float


@dataclass(frozen=True, slots=True)
class UnitSet:
    """The units of one system: slopes, small lengths (moves, shims) and dimensions of the line."""

    name: str
    slope: Unit
    small: Unit
    dimension: Unit


METRIC = UnitSet("mm", Unit("mm/m", 1.0), Unit("mm", 1.0), Unit("mm", 1.0))
# 1 mm/m = 0.012 in/ft = 12 thou/ft; 1 in = 25.4 mm exactly (NIST SP 811, B.6)
INCH = UnitSet("in", Unit("thou/ft", 12.0), Unit("thou", 1000.0 / 25.4), Unit("in", 1.0 / 25.4))

UNIT_SETS: Mapping[str, tuple[UnitSet, ...]] = {"mm": (METRIC,), "in": (INCH,), "both": (METRIC, INCH)}


def rule_of(recorded: object) -> int:
    """Return the rule that a certificate was printed by, from what it records; the first recorded none."""
    if recorded is None:
        return 1
    return recorded if isinstance(recorded, int) and 1 <= recorded <= RULE else RULE


def places_for(expanded: float) -> int:
    """Return the decimal places that show two significant digits of an uncertainty.

    Negative from 100 on: -1 rounds to tens, so that 337 is printed 340 and its value to tens as well.
    """
    if expanded <= 0.0:
        return 3
    places = 1 - _exponent(expanded, 2)
    return places if _rule.get() >= _WHOLE_TENS else max(0, places)


def _exponent(value: float, digits: int) -> int:
    """The power of ten of the first digit that is printed, of so many."""
    snapped = Decimal(repr(float(value)) if _rule.get() == 1 else f"{value:.{_SIGNIFICANT - 1}e}")
    exponent = snapped.adjusted()
    # 0.0996 rounds up to 0.10: the carry must not leave three digits
    return exponent + (_rounded(float(snapped), digits - 1 - exponent).adjusted() > exponent)


def limit_places(limit: float, places: int) -> int:
    """Return the places of a limit beside numbers with `places`: two significant digits of its own at least.

    A limit is stated and not measured, so that a large U takes none of its digits, and none before the
    decimal sign is ever rounded away.
    """
    return max(places, places_for(limit), 0) if limit > 0.0 else max(places, 0)


def fixed(value: float, places: int, *, signed: bool = False) -> str:
    """Return a number with that many decimals, a true minus sign, and no minus on a rounded zero.

    Negative places round to tens, hundreds and so on.
    """
    rounded = _rounded(value, places)
    text = f"{abs(rounded):.{max(places, 0)}f}"
    if rounded == 0:
        return text
    sign = MINUS if rounded < 0 else "+" if signed else ""
    return sign + text


def significant(value: float, digits: int, *, signed: bool = False) -> str:
    """Return a number to that many significant digits, without an exponent; whole digits are all kept."""
    if value == 0.0:
        return "0"
    return fixed(value, max(0, digits - 1 - _exponent(value, digits)), signed=signed)


def plain(value: float, most_places: int) -> str:
    """Return a dimension with at most that many decimals, trailing zeros dropped (1200, 12.5)."""
    text = fixed(value, most_places)
    return text.rstrip("0").rstrip(".") if "." in text else text


def percent(fraction: float) -> str:
    """Return a probability in per cent, never rounded to a certainty it is not ("> 99.99", "< 0.01")."""
    value = 100.0 * fraction
    if value < 0.01:
        return "< 0.01"
    if value > 99.99:
        return "> 99.99"
    return fixed(value, 2 if value < 10.0 or value > 90.0 else 1)


def risk_percents(risk: float) -> tuple[str, str]:
    """Return a risk in per cent to two significant digits, and what it leaves of 100 to the same place."""
    value = 100.0 * risk
    if value < 0.01:
        return "< 0.01", "> 99.99"
    places = max(places_for(value), 0)
    return fixed(value, places), fixed(100.0 - value, places)


def p_value(value: float) -> str:
    """Return a p-value to three places, "< 0.001" below that."""
    return "< 0.001" if value < 0.001 else fixed(value, 3)


@dataclass(frozen=True, slots=True)
class Digits:
    """The numbers of one language: those of this file with the decimal sign that the language writes."""

    decimal: str = POINT

    def written(self, number: str) -> str:
        """Return a number that was made with a point; it holds no other point."""
        return number.replace(POINT, self.decimal)

    def fixed(self, value: float, places: int, *, signed: bool = False) -> str:
        """Return a number with that many decimals."""
        return self.written(fixed(value, places, signed=signed))

    def significant(self, value: float, digits: int) -> str:
        """Return a number to that many significant digits."""
        return self.written(significant(value, digits))

    def plain(self, value: float, most_places: int) -> str:
        """Return a number with at most that many decimals, trailing zeros dropped."""
        return self.written(plain(value, most_places))

    def percent(self, fraction: float) -> str:
        """Return a probability in per cent."""
        return self.written(percent(fraction))

    def p_value(self, value: float) -> str:
        """Return a p-value."""
        return self.written(p_value(value))


def consistent_places(state: Measured, unit: Unit, rule: Rule) -> int:
    """Return the places at which the printed error, U and limit give the verdict that was reached.

    Starts from two significant digits of U and adds digits while the printed numbers contradict it.
    """
    factor = unit.per_engine_unit
    start = places_for(state.U_mm_per_m * factor)
    if state.verdict == "reference":
        return start
    limit = state.limit_mm_per_m * factor
    for places in range(start, start + _MOST_EXTRA_DIGITS):
        coarse = float(_rounded(limit, places))
        if shows_verdict(state, factor, places, rule) and places_ok(limit, coarse):
            return places
    return start + _MOST_EXTRA_DIGITS


def shows_verdict(state: Measured, factor: float, places: int, rule: Rule) -> bool:
    """Return whether error, U and limit give the verdict that was reached as printed with these places.

    `factor` is how many of the printed unit 1 mm/m makes.
    """
    error, expanded, limit = (
        size * factor for size in (state.error_mm_per_m, state.U_mm_per_m, state.limit_mm_per_m)
    )
    shown = ((error, places), (expanded, places), (limit, limit_places(limit, places)))
    return rule(*(float(_rounded(*one)) for one in shown)) == state.verdict


def places_ok(limit: float, printed: float) -> bool:
    """Return whether a limit is still recognisable as printed: not rounded to nothing."""
    return printed > 0.0 or limit == 0.0


def _rounded(value: float, places: int) -> Decimal:
    near = Decimal(repr(float(value)))
    if _rule.get() != 1:
        near = near.quantize(Decimal(1).scaleb(-places - _BEYOND), context=_EVEN)
    return near.quantize(Decimal(1).scaleb(-places), context=_EVEN)
