"""A comparison in sentences and as tables, one for each aspect."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from certgen.assessment.assessment import ASPECTS, AspectName
from certgen.document.content import Column, Table
from certgen.network.solution import Solution
from certgen.survey.survey import Coverage, Survey
from certgen.visits.comparison import AspectChange, Comparison, Outcome, RollChange, Shift, Stood
from certgen.visits.comparison_remarks import (
    Resized,
    other_line,
    other_reference,
    renamed,
    resized,
    scattered,
    temperatures,
)
from certgen.visits.standing import Moment
from certgen.wording.rounding import NOTHING, Unit, UnitSet, fixed, limit_places, places_for
from certgen.wording.values import Numbers, joined
from certgen.wording.wording import Wording

_MOST_EXTRA_DIGITS = 8


def comparison_identification(comparison: Comparison, wording: Wording) -> str:
    """Return which surveys, and which rounds of them, are compared."""
    first, second = (one.survey.certificate for one in (comparison.before, comparison.after))
    if comparison.within_one_visit:
        return wording.word("compare_of_one", number=second.number, revision=second.revision)
    return wording.word("compare_of_two", first=first.number, second=second.number)


def moment_text(moment: Moment, wording: Wording) -> str:
    """Return which certificate, round and day a moment is."""
    head = moment.survey.certificate
    return wording.word(
        "compare_moment",
        number=head.number,
        revision=head.revision,
        round=wording.inline(moment.round),
        day=wording.date(moment.day),
    )


def reference_text(comparison: Comparison, wording: Wording) -> str:
    """Return what parallel is held against at both moments."""
    common = comparison.reference
    if common is None:
        return wording.word("compare_reference_none")
    if common.roll is None:
        return wording.word("reference_line", ids=joined(common.monuments))
    name = next(roll.after.name for roll in comparison.rolls if roll.name == common.roll and roll.after)
    return wording.word("compare_reference_roll", id=common.roll, name=name, brought=common.brought)


def coverage_text(coverage: Coverage, wording: Wording) -> str:
    """Return how U is made."""
    if coverage.k is not None:
        return f"k = {wording.digits.plain(coverage.k, 3)}"
    return f"{wording.digits.plain(100.0 * (coverage.probability or 0.0), 4)} %"


def significance_text(comparison: Comparison, wording: Wording) -> str:
    """Return the significance in per cent."""
    return wording.digits.significant(100.0 * comparison.significance, 2)


def comparison_conclusion(comparison: Comparison, wording: Wording) -> tuple[str, ...]:
    """Return what the comparison comes to; that the surveys are of different lines stands first."""
    lines = other_lines([comparison.before.survey, comparison.after.survey], wording)
    if comparison.judged == 0:
        return (*lines, wording.word("compare_no_judgement"))
    counts = wording.word(
        "compare_counts",
        moved=comparison.count("moved"),
        judged=comparison.judged,
        still=comparison.count("not moved"),
        open=comparison.count("cannot be told"),
        chance=wording.digits.significant(comparison.significance * comparison.judged, 2),
    )
    moved = _lists(comparison, "compare_list_moved", "moved", wording)
    return (*lines, counts, *moved, *_lists(comparison, "compare_list_open", "cannot be told", wording))


def _lists(comparison: Comparison, key: str, outcome: Outcome, wording: Wording) -> Iterator[str]:
    """Yield for each aspect the rolls of that outcome; rolls that are in one survey only are told apart."""
    for aspect in _surveyed(comparison):
        names = [
            roll.name
            for roll in comparison.rolls
            if roll.presence == "both" and roll.aspect(aspect).outcome == outcome
        ]
        if names:
            yield wording.word(key, aspect=wording.inline(aspect), list=joined(names))


def _surveyed(comparison: Comparison) -> list[AspectName]:
    return [name for name in ASPECTS if any(roll.aspect(name).after for roll in comparison.rolls)]


def remarks(comparison: Comparison, numbers: Numbers, wording: Wording) -> tuple[str, ...]:
    """Return what to know before believing it: readings that scatter, the reference, rolls not the same."""
    return (
        *doubts([comparison.before.solution, comparison.after.solution], wording),
        *_reference(comparison, wording),
        *_rolls(comparison, wording),
        *(_resized(one, numbers, wording) for one in resized(comparison)),
        *_unjudged(comparison, wording),
    )


def doubts(solutions: Sequence[Solution], wording: Wording) -> Iterator[str]:
    """Yield what shakes all results: readings that scatter more than stated, visits warm and cold."""
    for one in scattered(solutions):
        p = wording.digits.p_value(one.p_value)
        aspect = wording.inline(one.aspect)
        yield wording.word("compare_scattered", number=one.certificate, aspect=aspect, p=p)
    apart = temperatures(one.survey for one in solutions)
    if apart is not None:
        cold, warm = (
            f"{wording.digits.fixed(value, 1)} °C ({wording.digits.fixed(1.8 * value + 32.0, 1)} °F)"
            for value in apart
        )
        yield wording.word("compare_temperatures", cold=cold, warm=warm)


def other_lines(surveys: Sequence[Survey], wording: Wording) -> Iterator[str]:
    """Yield that the surveys are not of one line by what they state, for the first that differs."""
    differing = (other_line(one, surveys[-1]) for one in surveys[:-1])
    found = next((pair for pair in differing if pair is not None), None)
    if found is not None:
        yield wording.word("compare_other_line", first=found[0], second=found[1])


def _reference(comparison: Comparison, wording: Wording) -> Iterator[str]:
    common, suspect = comparison.reference, other_reference(comparison)
    if common is None or all(roll.parallel.shift is None for roll in comparison.rolls):
        return
    if common.roll is None:
        yield wording.word("compare_stands_line", ids=joined(common.monuments))
    else:
        yield wording.word("compare_stands_roll", id=common.roll)
    if suspect is not None:
        key = "compare_other_reference" if common.roll is not None else "compare_other_reference_line"
        counts = {"moved": suspect.moved, "present": suspect.present}
        yield wording.word(key, roll=suspect.roll, id=common.roll, **counts)


def _rolls(comparison: Comparison, wording: Wording) -> Iterator[str]:
    pairs = [wording.word("compare_renamed_one", before=a, after=b) for a, b in renamed(comparison)]
    lists = {
        "compare_renamed": pairs,
        "compare_new": [roll.name for roll in comparison.rolls if roll.presence == "new"],
        "compare_gone": [roll.name for roll in comparison.rolls if roll.presence == "gone"],
    }
    for key, names in lists.items():
        if names:
            yield wording.word(key, list=joined(names))


def _resized(one: Resized, numbers: Numbers, wording: Wording) -> str:
    return wording.word(
        "compare_resized",
        roll=one.roll,
        dimension=wording.word(f"dimension {one.dimension}"),
        before=numbers.dimension(one.before_mm).replace("\n", " / "),
        after=numbers.dimension(one.after_mm).replace("\n", " / "),
        unit=numbers.dimension_signs(),
    )


def _unjudged(comparison: Comparison, wording: Wording) -> Iterator[str]:
    yield from _lists(comparison, "compare_missing", "not measured", wording)
    yield from _lists(comparison, "compare_fixed", "held fixed", wording)


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
