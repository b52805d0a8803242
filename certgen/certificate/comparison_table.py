"""The changes between two moments as tables, one for each aspect."""

from dataclasses import replace

from certgen.assessment.assessment import AspectName
from certgen.assessment.comparison import AspectChange, Comparison, RollChange, Shift
from certgen.certificate.content import Column, Table
from certgen.certificate.numbers import Numbers
from certgen.certificate.rounding import NOTHING, Unit, UnitSet, fixed, places_for
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
    return Table(
        caption=wording.word(f"compare_table_{aspect}"),
        columns=_columns(wording),
        rows=tuple(_row(roll, aspect, numbers, wording) for roll in rolls),
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


def _row(roll: RollChange, aspect: AspectName, numbers: Numbers, wording: Wording) -> tuple[str, ...]:
    change = roll.aspect(aspect)
    outcome = wording.word(change.outcome if roll.presence == "both" else roll.presence)
    return (
        roll_label(roll, wording),
        *_stood(change, numbers),
        *_shift(change.shift, numbers),
        outcome,
        *_bearings(change.shift, numbers),
    )


def _stood(change: AspectChange, numbers: Numbers) -> tuple[str, str]:
    """Both slopes to the place of the change where there is one, else to that of their own U."""
    before, after = (
        NOTHING if stood is None else _at(stood.slope_mm_per_m, stood.U_mm_per_m, change.shift, numbers)
        for stood in (change.before, change.after)
    )
    return before, after


def _at(value: float, expanded: float, shift: Shift | None, numbers: Numbers) -> str:
    if shift is None:
        return numbers.slope(value, expanded)
    return numbers.lines(
        lambda units: fixed(value * units.slope.per_engine_unit, consistent(shift, units.slope), signed=True)
    )


def _shift(shift: Shift | None, numbers: Numbers) -> tuple[str, str, str]:
    """The change, its U and the limit that matters."""
    if shift is None:
        return NOTHING, NOTHING, NOTHING
    relevant = shift.relevant_mm_per_m

    def shown(units: UnitSet, value: float, *, signed: bool) -> str:
        return fixed(value * units.slope.per_engine_unit, consistent(shift, units.slope), signed=signed)

    return (
        numbers.lines(lambda units: shown(units, shift.value_mm_per_m, signed=True)),
        numbers.lines(lambda units: shown(units, shift.U_mm_per_m, signed=False)),
        NOTHING if relevant is None else numbers.lines(lambda units: shown(units, relevant, signed=False)),
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
    relevant = shift.relevant_mm_per_m
    return replace(
        shift,
        value_mm_per_m=round(shift.value_mm_per_m * factor, places),
        U_mm_per_m=round(shift.U_mm_per_m * factor, places),
        relevant_mm_per_m=None if relevant is None else round(relevant * factor, places),
    )


def _bearings(shift: Shift | None, numbers: Numbers) -> tuple[str, str]:
    """What either bearing alone would have moved: where the roll has moved, to the crew's digits."""
    if shift is None or shift.outcome != "moved":
        return NOTHING, NOTHING
    return numbers.small(shift.drive_mm), numbers.small(shift.operator_mm)
