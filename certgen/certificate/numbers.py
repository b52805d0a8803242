"""The cells of the tables: values in the units of the page, two lines where both systems are wanted."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from certgen.assessment.assessment import Change, Measured
from certgen.assessment.rules import RULES
from certgen.certificate.rounding import (
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
from certgen.survey.survey import Survey

_POINT = Digits()
_NO_SLOPE_MM_PER_M = 1e-12


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
