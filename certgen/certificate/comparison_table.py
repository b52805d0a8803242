"""The changes between two moments as tables, one for each aspect."""

from collections.abc import Sequence
from dataclasses import replace

from certgen.assessment.assessment import AspectName
from certgen.assessment.comparison import AspectChange, Comparison, RollChange, Shift, Stood
from certgen.certificate.content import Column, Table
from certgen.certificate.numbers import Numbers
from certgen.certificate.rounding import NOTHING, Unit, UnitSet, fixed, limit_places, places_for
from certgen.certificate.wording import Wording

_MOST_EXTRA_DIGITS = 8


def comparison_table(
    comparison: Comparison, aspect: AspectName, numbers: Numbers, wording: Wording
) -> Table | None:
    """Return the table of one aspect, rows with a move set bold; None where nothing of it was measured."""
    rolls = [roll for roll in comparison.rolls if roll.aspect(aspect).before or roll.aspect(aspect).after]
    if not rolls:
        return None
    sense = wording.word(f"compare_sense_{aspect}")
    shifts = [shift for roll in rolls if (shift := roll.aspect(aspect).shift) is not None]
    return Table(
        caption=wording.word(f"compare_table_{aspect}"),
        columns=_columns(wording),
        rows=tuple(_row(roll, roll.aspect(aspect), (numbers, wording, shifts)) for roll in rolls),
        note=wording.word(
            "compare_note", unit=numbers.slope_signs(), small=numbers.small_signs(), sense=sense
        ),
        emphasis=frozenset(i for i, roll in enumerate(rolls) if roll.aspect(aspect).outcome == "moved"),
    )


def _columns(wording: Wording) -> tuple[Column, ...]:
    bearing = wording.word("compare_one_bearing")
    return (
        Column(wording.word("roll"), "left", share=1.3),
        Column(wording.word("compare_before"), group=wording.word("slope")),
        Column(wording.word("compare_after"), group=wording.word("slope")),
        Column(wording.word("compare_change")),
        Column(wording.word("expanded"), share=0.8),
        Column(wording.word("compare_relevant_column"), share=0.8),
        Column(wording.word("compare_outcome"), "left", share=1.4),
        Column(wording.word("compare_drive"), group=bearing),
        Column(wording.word("compare_operator"), group=bearing),
    )


def roll_label(roll: RollChange, wording: Wording) -> str:
    """Return the id a roll has now, with the one it had before where that was another."""
    before, after = roll.before, roll.after
    if before is None or after is None or before.id == after.id:
        return roll.name
    return wording.word("compare_was", name=roll.name, was=before.id)


def _row(
    roll: RollChange, change: AspectChange, means: tuple[Numbers, Wording, Sequence[Shift]]
) -> tuple[str, ...]:
    numbers, wording, shifts = means
    outcome = wording.word(change.outcome if roll.presence == "both" else roll.presence)
    return (
        roll_label(roll, wording),
        *(_stood(stood, change.shift, numbers, shifts) for stood in (change.before, change.after)),
        *_shift(change.shift, numbers),
        outcome,
        *_bearings(change.shift, numbers),
    )


def _stood(stood: Stood | None, shift: Shift | None, numbers: Numbers, shifts: Sequence[Shift]) -> str:
    """A slope to the place of the change where there is one, else to that of its own U.

    A roll with one reading only is printed no finer than the finest of those that can be compared.
    """
    if stood is None:
        return NOTHING

    def shown(units: UnitSet) -> str:
        unit, factor = units.slope, units.slope.per_engine_unit
        if shift is not None:
            places = consistent(shift, unit)
        else:
            own = places_for(stood.U_mm_per_m * factor)
            places = min((own, max((consistent(one, unit) for one in shifts), default=own)))
        return fixed(stood.slope_mm_per_m * factor, places, signed=True)

    return numbers.lines(shown)


def _shift(shift: Shift | None, numbers: Numbers) -> tuple[str, str, str]:
    """The change, its U and the limit that matters."""
    if shift is None:
        return NOTHING, NOTHING, NOTHING
    relevant = shift.relevant_mm_per_m

    def shown(units: UnitSet, value: float, *, signed: bool) -> str:
        return fixed(value * units.slope.per_engine_unit, consistent(shift, units.slope), signed=signed)

    def limit(units: UnitSet, value: float) -> str:
        value *= units.slope.per_engine_unit
        return fixed(value, limit_places(value, consistent(shift, units.slope)))

    return (
        numbers.lines(lambda units: shown(units, shift.value_mm_per_m, signed=True)),
        numbers.lines(lambda units: shown(units, shift.U_mm_per_m, signed=False)),
        NOTHING if relevant is None else numbers.lines(lambda units: limit(units, relevant)),
    )


def consistent(shift: Shift, unit: Unit) -> int:
    """Return the places at which the printed change, U and limit give the outcome that was reached."""
    factor = unit.per_engine_unit
    start = places_for(shift.U_mm_per_m * factor)
    for places in range(start, start + _MOST_EXTRA_DIGITS):
        if _printed(shift, factor, places).outcome == shift.outcome:
            return places
    return start + _MOST_EXTRA_DIGITS


def _printed(shift: Shift, factor: float, places: int) -> Shift:
    relevant = None if shift.relevant_mm_per_m is None else shift.relevant_mm_per_m * factor
    return replace(
        shift,
        value_mm_per_m=round(shift.value_mm_per_m * factor, places),
        U_mm_per_m=round(shift.U_mm_per_m * factor, places),
        relevant_mm_per_m=None if relevant is None else round(relevant, limit_places(relevant, places)),
    )


def _bearings(shift: Shift | None, numbers: Numbers) -> tuple[str, str]:
    """What either bearing alone would have moved: where the roll has moved, to the crew's digits."""
    if shift is None or shift.outcome != "moved":
        return NOTHING, NOTHING
    return numbers.small(shift.drive_mm), numbers.small(shift.operator_mm)
