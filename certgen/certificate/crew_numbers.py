"""Numbers in running text for the crew, each with its unit, in both unit systems where both are printed."""

from collections.abc import Callable
from itertools import groupby

from certgen.assessment.adjustment_check import AdjustmentCheck
from certgen.certificate.numbers import Numbers, small_text
from certgen.certificate.rounding import UNIT_SETS, UnitSet, fixed, limit_places, places_for, plain
from certgen.engine.live import LevelStop
from certgen.engine.shims import ShimPack

_TIMES = "\N{MULTIPLICATION SIGN}"
_MOST_EXTRA_DIGITS = 6
# shims come in steps of 0.005 mm and of a tenth of a thou
_STEPS = {"mm": 200.0, "in": 10.0}
_ROUNDING = 1e-6


def amount(numbers: Numbers, value_mm: float) -> str:
    """Return the size of a move ("0.276 mm / 10.9 thou"); its direction stands in words beside it."""
    return _each(
        numbers, lambda units: f"{small_text(units, abs(value_mm), signed=False)} {units.small.sign}"
    )


def reading(numbers: Numbers, value_mm: float) -> str:
    """Return a live reading with its sign."""
    return _each(numbers, lambda units: f"{small_text(units, value_mm)} {units.small.sign}")


def slope(numbers: Numbers, value_mm_per_m: float, *, signed: bool = True) -> str:
    """Return a slope to a hundredth of a thou/ft or a thousandth of a mm/m: finer than it can be set."""

    def shown(units: UnitSet) -> str:
        number = fixed(value_mm_per_m * units.slope.per_engine_unit, _slope_places(units), signed=signed)
        return f"{number} {units.slope.sign}"

    return _each(numbers, shown)


def limit(numbers: Numbers, value_mm_per_m: float) -> str:
    """Return a limit, with digits of its own where it is finer than a slope is printed here."""

    def shown(units: UnitSet) -> str:
        value = value_mm_per_m * units.slope.per_engine_unit
        return f"{fixed(value, limit_places(value, _slope_places(units)))} {units.slope.sign}"

    return _each(numbers, shown)


def _slope_places(units: UnitSet) -> int:
    return 3 if units.name == "mm" else 2


def place(numbers: Numbers, value_mm: float) -> str:
    """Return a place along the roll."""

    def shown(units: UnitSet) -> str:
        return f"{plain(value_mm * units.dimension.per_engine_unit, 1)} {units.dimension.sign}"

    return _each(numbers, shown)


def level_reading(numbers: Numbers, stop: LevelStop) -> str:
    """Return what the level shows: in divisions where it has them, then as a slope."""
    as_slope = slope(numbers, stop.slope_mm_per_m)
    if stop.divisions is None:
        return as_slope
    return f"{numbers.digits.fixed(stop.divisions, 1, signed=True)} div ({as_slope})"


def pieces(numbers: Numbers, pack: ShimPack) -> str:
    """Return the shims of a pack, thickest first ("10 + 2 × 1 thou"); equal ones are counted.

    Shims are known by the size they are sold in: in thou where they are whole tenths of it, in mm where they
    are whole steps of 0.005; 0.05 mm is not called 1.9685 thou.
    """
    return " / ".join(
        numbers.digits.written(f"{_pieces(units, pack)} {units.small.sign}")
        for units in _known_by(numbers, pack)
    )


def bare_pieces(numbers: Numbers, pack: ShimPack) -> str:
    """Return the shims of a pack for a table's cell, a line for each unit system.

    Without their unit where it is that of the table, with it where they are known by another.
    """
    known = _known_by(numbers, pack)
    if known == numbers.units:
        return numbers.lines(lambda units: _pieces(units, pack))
    return pieces(numbers, pack)


def check_cells(numbers: Numbers, check: AdjustmentCheck) -> tuple[str, str, str, str]:
    """Return predicted, measured, difference and U, to the place of U.

    With more digits where the printed difference and U would contradict what was found.
    """
    values = (check.predicted_mm_per_m, check.measured_mm_per_m, check.difference_mm_per_m)

    def shown(value: float, signed: bool) -> str:
        return numbers.lines(
            lambda units: fixed(
                value * units.slope.per_engine_unit, _check_places(units, check), signed=signed
            )
        )

    predicted, measured, difference = (shown(value, True) for value in values)
    return predicted, measured, difference, shown(check.U_mm_per_m, False)


def _check_places(units: UnitSet, check: AdjustmentCheck) -> int:
    factor = units.slope.per_engine_unit
    start = places_for(check.U_mm_per_m * factor)
    for places in range(start, start + _MOST_EXTRA_DIGITS):
        size, most = (
            float(fixed(abs(value) * factor, places))  # as printed: a tie of the float's is none there
            for value in (check.difference_mm_per_m, check.U_mm_per_m)
        )
        if (size <= most) == (check.result == "agrees"):
            return places
    return start


def _known_by(numbers: Numbers, pack: ShimPack) -> tuple[UnitSet, ...]:
    """The unit systems in which these shims have plain sizes: of the page, else of any; those of the page."""

    def plain_in(units: UnitSet) -> bool:
        steps = [size * units.small.per_engine_unit * _STEPS[units.name] for size in pack.pieces_mm]
        return all(abs(step - round(step)) < _ROUNDING for step in steps)

    for systems in (numbers.units, UNIT_SETS["both"]):
        found = tuple(units for units in systems if plain_in(units))
        if found:
            return found
    return numbers.units


def _pieces(units: UnitSet, pack: ShimPack) -> str:
    sizes = [(size, len(list(equal))) for size, equal in groupby(pack.pieces_mm)]
    factor = units.small.per_engine_unit
    counted = (
        plain(size * factor, 4) if count == 1 else f"{count} {_TIMES} {plain(size * factor, 4)}"
        for size, count in sizes
    )
    return " + ".join(counted)


def _each(numbers: Numbers, shown: Callable[[UnitSet], str]) -> str:
    return " / ".join(numbers.digits.written(shown(units)) for units in numbers.units)
