"""Figures in columns: one number of places down a column, in the form in which the order states its limit.

The places are those of the smallest U of the table at two significant digits, as long as the largest one
keeps at most three; two digits of U are customary (JCGM 100:2008, 7.2.6), one number of places down a column
is our own rule. A figure that would contradict its verdict at these places keeps digits of its own.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from certgen.assessment.assessment import Change, Measured
from certgen.assessment.rules import RULES, Rule
from certgen.survey.survey import Limit, Roll
from certgen.wording.rounding import NOTHING, UnitSet, fixed, limit_places, places_for, shows_verdict
from certgen.wording.values import Numbers

Form = Literal["slope", "bearings", "face"]
_OVER: tuple[tuple[str, Form], ...] = ((" over bearings", "bearings"), (" over face", "face"))
_MOST_DIGITS = 3  # of the largest U
_MOST_EXTRA_PLACES = 8


def form_of(limits: Iterable[Limit | None]) -> Form:
    """Return the form that most limits are stated in: a slope, or a length over bearings or face."""
    stated = [limit.stated for limit in limits if limit is not None]
    forms: list[Form] = [
        next((form for end, form in _OVER if text.endswith(end)), "slope") for text in stated
    ]
    return Counter(forms).most_common(1)[0][0] if forms else "slope"


def form_factor(form: Form, roll: Roll | None, units: UnitSet) -> float:
    """Return how many of the unit of that form a slope of 1 mm/m makes on a roll."""
    if form == "slope" or roll is None:
        return units.slope.per_engine_unit
    over_mm = roll.bearings_mm if form == "bearings" else roll.face_mm
    return over_mm / 1000.0 * units.small.per_engine_unit


@dataclass(frozen=True, slots=True)
class ColumnFigures:
    """The figures of one table in one unit: `factors` by row, `places` after the decimal sign."""

    sign: str
    factors: Mapping[str, float]
    places: int
    rule: Rule
    written: Callable[[str], str]

    def value(self, row: str, mm_per_m: float, *, signed: bool = True) -> str:
        """Return a slope (mm/m) in the form of the table."""
        return self.written(fixed(mm_per_m * self.factors[row], self.places, signed=signed))

    def error(self, row: str, state: Measured) -> str:
        """Return the error, with as many places as its verdict asks for."""
        factor = self.factors[row]
        return self.written(fixed(state.error_mm_per_m * factor, self.places_of(row, state), signed=True))

    def expanded(self, row: str, state: Measured) -> str:
        """Return U at the places of its error."""
        return self.written(fixed(state.U_mm_per_m * self.factors[row], self.places_of(row, state)))

    def limit(self, row: str, state: Measured) -> str:
        """Return the limit, with two significant digits of its own at least."""
        size = state.limit_mm_per_m * self.factors[row]
        return self.written(fixed(size, limit_places(size, self.places_of(row, state))))

    def change(self, row: str, change: Change | None) -> str:
        """Return a change, a dash where there is none."""
        return NOTHING if change is None else self.value(row, change.slope_mm_per_m)

    def contradicts(self, row: str, state: Measured) -> bool:
        """Whether a figure needs more places than its column for its verdict to show."""
        return self.places_of(row, state) > self.places

    def places_of(self, row: str, state: Measured) -> int:
        """Return the places at which the printed error, U and limit give the verdict that was reached."""
        if state.verdict == "reference":
            return self.places
        most = self.places + _MOST_EXTRA_PLACES
        return next(
            (
                places
                for places in range(self.places, most)
                if shows_verdict(state, self.factors[row], places, self.rule)
            ),
            most,
        )


def column_figures(
    numbers: Numbers,
    form: Form,
    rolls: Mapping[str, Roll | None],
    states: Sequence[tuple[str, Measured]],
) -> tuple[ColumnFigures, ...]:
    """Return the figures of a table, one for each unit system of the page.

    `rolls` are those over whose bearings or face the figure of a row is stated; `states` all that the table
    shows, each with its row.
    """
    found = []
    for units in numbers.units:
        factors = {row: form_factor(form, roll, units) for row, roll in rolls.items()}
        sizes = [state.U_mm_per_m * factors[row] for row, state in states if state.verdict != "reference"]
        sign = units.slope.sign if form == "slope" else units.small.sign
        found.append(
            ColumnFigures(
                sign, factors, column_places(sizes), RULES[numbers.decision], numbers.digits.written
            )
        )
    return tuple(found)


def column_places(sizes: Sequence[float]) -> int:
    """Return the places of a column whose expanded uncertainties are these."""
    sizes = [size for size in sizes if size > 0.0]
    if not sizes:
        return 3
    least, largest = places_for(min(sizes)), max(sizes)
    most = places_for(largest) + _MOST_DIGITS - 2
    return min(least, most)
