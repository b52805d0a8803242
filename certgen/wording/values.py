"""Values in the units of the page: cells of two lines where both systems are shown, and running text."""

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from certgen.assessment.assessment import AspectName, Change, Measured
from certgen.assessment.rules import RULES
from certgen.moves.after_moves import AdjustmentCheck
from certgen.moves.steps import ShimPack
from certgen.moves.stop_readings import LevelStop
from certgen.survey.survey import Survey
from certgen.wording.rounding import (
    NOTHING,
    UNIT_SETS,
    Digits,
    Unit,
    UnitSet,
    consistent_places,
    fixed,
    limit_places,
    places_for,
    plain,
)
from certgen.wording.wording import Wording

_POINT = Digits()
_NO_SLOPE_MM_PER_M = 1e-12
# as the survey's reader puts them together -> the word that says the same
_FORMS = (
    (re.compile(r"(?P<size>.+) over face"), "stated over face"),
    (re.compile(r"(?P<size>.+) over bearings"), "stated over bearings"),
    (re.compile(r"(?P<size>.+) over (?P<over>.+)"), "stated over"),
    (re.compile(r"(?P<size>.+) of the slope at which one edge of the web goes slack"), "stated web"),
    (re.compile(r"half width (?P<size>.+)"), "stated half width"),
    (re.compile(r"expanded (?P<size>.+), k = (?P<k>.+)"), "stated expanded"),
    (re.compile(r"standard (?P<size>.+)"), "stated standard"),
)
_TIMES = "\N{MULTIPLICATION SIGN}"
_MOST_EXTRA_DIGITS = 6
_MOST_LISTED = 24  # rolls, pairs or readings in running text
_MANY = 3  # rolls that follow each other are named as first and last
# shims come in steps of 0.005 mm and of a tenth of a thou
_STEPS = {"mm": 200.0, "in": 10.0}
_ROUNDING = 1e-6


@dataclass(frozen=True, slots=True)
class StateCells:
    """One measured state as text, in the order of the tables."""

    slope: str
    target: str
    error: str
    over_bearings: str
    standard: str
    expanded: str
    limit: str


@dataclass(frozen=True, slots=True)
class Numbers:
    """Turns the engine's numbers into the cells of one survey's certificate."""

    units: tuple[UnitSet, ...]
    decision: str
    digits: Digits = _POINT

    def slope_signs(self) -> str:
        """Return the units of slopes ("mm/m", or both)."""
        return " / ".join(units.slope.sign for units in self.units)

    def small_signs(self) -> str:
        """Return the units of moves and shims."""
        return " / ".join(units.small.sign for units in self.units)

    def dimension_signs(self) -> str:
        """Return the units of the line's dimensions."""
        return " / ".join(units.dimension.sign for units in self.units)

    def state(self, state: Measured | None) -> StateCells:
        """Return a measured state; dashes where nothing was measured."""
        if state is None:
            return StateCells(*[NOTHING] * len(StateCells.__dataclass_fields__))
        return StateCells(
            slope=self._slopes(state, state.slope_mm_per_m),
            target=self._slopes(state, state.target_mm_per_m),
            error=self._slopes(state, state.error_mm_per_m),
            over_bearings=self._over_bearings(state),
            standard=self._slopes(state, state.u_mm_per_m, signed=False),
            expanded=self._slopes(state, state.U_mm_per_m, signed=False),
            limit=self._limit(state),
        )

    def change(self, change: Change | None) -> tuple[str, str, str]:
        """Return the change in slope, its u and its U."""
        if change is None:
            return (NOTHING,) * 3

        def shown(units: UnitSet, value: float, signed: bool) -> str:
            factor = units.slope.per_engine_unit
            return fixed(value * factor, places_for(change.U_mm_per_m * factor), signed=signed)

        return (
            self.lines(lambda units: shown(units, change.slope_mm_per_m, True)),
            self.lines(lambda units: shown(units, change.u_mm_per_m, False)),
            self.lines(lambda units: shown(units, change.U_mm_per_m, False)),
        )

    def slope(self, value: float, u: float) -> str:
        """Return a slope to the place of its uncertainty."""
        return self._with_uncertainty(value, u, lambda units: units.slope)

    def length(self, value: float, u: float) -> str:
        """Return a small length to the place of its uncertainty."""
        return self._with_uncertainty(value, u, lambda units: units.small)

    def reading(self, value: float, *, slope: bool) -> str:
        """Return a reading: 0.0001 mm/m or 0.001 thou/ft of a level, 0.001 mm or 0.1 thou otherwise."""
        if not slope:
            return self.small(value)
        return self.lines(
            lambda units: fixed(value * units.slope.per_engine_unit, _slope_places(units), signed=True)
        )

    def small(self, value: float, *, signed: bool = True) -> str:
        """Return a move or reading of the crew: 0.001 mm or 0.1 thou, finer than can be set."""
        return self.lines(lambda units: small_text(units, value, signed=signed))

    def dimension(self, value: float) -> str:
        """Return a dimension of the line, trailing zeros dropped."""
        return self.lines(lambda units: plain(value * units.dimension.per_engine_unit, 3))

    def _slopes(self, state: Measured, value: float, *, signed: bool = True) -> str:
        def shown(units: UnitSet) -> str:
            places = consistent_places(state, units.slope, RULES[self.decision])
            return fixed(value * units.slope.per_engine_unit, places, signed=signed)

        return self.lines(shown)

    def _limit(self, state: Measured) -> str:
        def shown(units: UnitSet) -> str:
            limit = state.limit_mm_per_m * units.slope.per_engine_unit
            places = consistent_places(state, units.slope, RULES[self.decision])
            return fixed(limit, limit_places(limit, places))

        return self.lines(shown)

    def _over_bearings(self, state: Measured) -> str:
        """The slope over the bearings to the place of U over the bearings."""
        if abs(state.slope_mm_per_m) < _NO_SLOPE_MM_PER_M:
            return self.lines(lambda units: small_text(units, 0.0))
        expanded = abs(state.over_bearings_mm / state.slope_mm_per_m) * state.U_mm_per_m
        return self._with_uncertainty(state.over_bearings_mm, expanded, lambda units: units.small)

    def _with_uncertainty(self, value: float, expanded: float, unit: Callable[[UnitSet], Unit]) -> str:
        def shown(units: UnitSet) -> str:
            factor = unit(units).per_engine_unit
            return fixed(value * factor, places_for(expanded * factor), signed=True)

        return self.lines(shown)

    def lines(self, shown: Callable[[UnitSet], str]) -> str:
        """Return a number in every unit system, a line for each."""
        return "\n".join(self.digits.written(shown(units)) for units in self.units)


def _slope_places(units: UnitSet) -> int:
    return 4 if units.name == "mm" else 3


def small_text(units: UnitSet, value: float, *, signed: bool = True) -> str:
    """Return a small length in one unit system."""
    places = 3 if units.name == "mm" else 1
    return fixed(value * units.small.per_engine_unit, places, signed=signed)


def numbers_for(survey: Survey, digits: Digits = _POINT) -> Numbers:
    """Return the numbers in the units that the survey wants printed, in the digits of a language."""
    return Numbers(UNIT_SETS[survey.certificate.units], survey.decision, digits)


def joined(items: Iterable[str]) -> str:
    """Return a list in running text."""
    return ", ".join(items)


def first_of(texts: Sequence[str], wording: Wording, between: str = ", ", most: int = _MOST_LISTED) -> str:
    """Return the first texts in running text, and how many more there are: the tables have all."""
    more = len(texts) - most
    if more <= 1:
        return between.join(texts)
    return wording.word("and_more", list=between.join(texts[:most]), more=more)


def run_of(ids: Sequence[str]) -> Sequence[str]:
    """Return rolls that follow each other in the line, three or more as first and last."""
    return ids if len(ids) < _MANY else [f"{ids[0]} \N{EN DASH} {ids[-1]}"]


def direction(aspect: AspectName, amount_mm: float, wording: Wording) -> str:
    """Return the way of a move in words: up and downstream are positive."""
    words = ("up", "down") if aspect == "level" else ("downstream", "upstream")
    return wording.word(words[0] if amount_mm > 0.0 else words[1])


def stated(text: str, wording: Wording) -> str:
    """Return a statement in the words of the certificate; one of no known form is a quantity by itself."""
    for form, key in _FORMS:
        if found := form.fullmatch(text):
            parts = {name: wording.digits.written(part) for name, part in found.groupdict().items()}
            return wording.word(key, **parts)
    return wording.digits.written(text)


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
        number = fixed(value_mm_per_m * units.slope.per_engine_unit, _crew_places(units), signed=signed)
        return f"{number} {units.slope.sign}"

    return _each(numbers, shown)


def limit(numbers: Numbers, value_mm_per_m: float) -> str:
    """Return a limit, with digits of its own where it is finer than a slope is printed here."""

    def shown(units: UnitSet) -> str:
        value = value_mm_per_m * units.slope.per_engine_unit
        return f"{fixed(value, limit_places(value, _crew_places(units)))} {units.slope.sign}"

    return _each(numbers, shown)


def _crew_places(units: UnitSet) -> int:
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
