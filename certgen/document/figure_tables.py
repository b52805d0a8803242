"""The figures behind the verdicts: slope, target, error, u, conformance; u and U of each change."""

from collections.abc import Mapping, Sequence

from certgen.assessment.assessment import AspectName, Assessment, Change, Measured
from certgen.document.content import Column, Table
from certgen.survey.survey import Roll, Round
from certgen.wording.columns import ColumnFigures, column_figures
from certgen.wording.rounding import NOTHING
from certgen.wording.values import Numbers, joined
from certgen.wording.wording import Wording, unhyphenated

_KEYS = ("slope", "target", "error", "standard", "probability")
_SHARES = {"standard": 0.9, "probability": 1.4}


def figures_table(assessment: Assessment, name: AspectName, numbers: Numbers, wording: Wording) -> Table:
    """Return the figures behind the verdicts on rolls, in slopes."""
    rows = [(roll.id, roll.aspect(name)) for roll in assessment.rolls]
    states = {key: {which: aspect.in_round(which) for which in assessment.surveyed} for key, aspect in rows}
    changes = {key: aspect.change for key, aspect in rows} if "as_left" in assessment.surveyed else {}
    title = wording.word("table_figures", aspect=wording.word(name))
    return _table(title, states, changes, (assessment.surveyed, numbers, wording))


def _table(
    title: str,
    states: Mapping[str, Mapping[Round, Measured | None]],
    changes: Mapping[str, Change | None],
    means: tuple[Sequence[Round], Numbers, Wording],
) -> Table:
    rounds, numbers, wording = means
    shown = [(key, one) for key, found in states.items() for one in found.values() if one is not None]
    rolls: dict[str, Roll | None] = dict.fromkeys(states)
    figures = column_figures(numbers, "slope", rolls, shown)
    slope = numbers.slope_signs()
    columns = [Column(wording.word("roll"), "left", share=0.8)]
    for which in rounds:
        columns += [
            Column(
                wording.word(key),
                group=wording.word(which),
                share=_SHARES.get(key, 1.0),
                unit="" if key == "probability" else slope,
            )
            for key in _KEYS
        ]
    change = wording.word("change")
    if changes:
        columns += [
            Column(wording.word("standard"), group=change, share=0.9, unit=slope),
            Column(wording.word("expanded"), group=change, share=0.9, unit=slope),
            Column(wording.word("significant"), "left", change, 1.25),
        ]
    rows = []
    for key, found in states.items():
        cells = [key, *(cell for which in rounds for cell in _state(key, found[which], figures, numbers))]
        rows.append((*cells, *(_change(key, changes[key], figures, wording) if changes else ())))
    return without_empty(Table(title, tuple(columns), tuple(rows)), wording)


def _state(
    key: str, state: Measured | None, figures: Sequence[ColumnFigures], numbers: Numbers
) -> tuple[str, ...]:
    if state is None:
        return (NOTHING,) * len(_KEYS)
    signed = (state.slope_mm_per_m, state.target_mm_per_m, state.error_mm_per_m)
    texts = ["\n".join(one.value(key, value) for one in figures) for value in signed]
    standard = "\n".join(one.value(key, state.u_mm_per_m, signed=False) for one in figures)
    share = numbers.digits.percent(state.conformance_probability)
    return (*texts, standard, NOTHING if state.verdict == "reference" else f"{share} %")


def _change(
    key: str, change: Change | None, figures: Sequence[ColumnFigures], wording: Wording
) -> tuple[str, str, str]:
    """U and U of a change, and whether it is larger than its U; dashes where there is none."""
    if change is None:
        return (NOTHING,) * 3
    sizes = (change.u_mm_per_m, change.U_mm_per_m)
    standard, expanded = ("\n".join(one.value(key, size, signed=False) for one in figures) for size in sizes)
    return standard, expanded, wording.word("is_significant" if change.significant else "is_not_significant")


def without_empty(table: Table, wording: Wording) -> Table:
    """Return a table without columns that are zero or a dash throughout; the note names them."""
    empty = [
        index
        for index, column in enumerate(table.columns)
        if column.align == "decimal" and all(_empty(row[index]) for row in table.rows)
    ]
    if not empty:
        return table
    names = dict.fromkeys(unhyphenated(table.columns[index].title) for index in empty)
    said = wording.word("left_out_columns", list=joined(names))
    return Table(
        caption=table.caption,
        columns=tuple(one for index, one in enumerate(table.columns) if index not in empty),
        rows=tuple(tuple(c for i, c in enumerate(row) if i not in empty) for row in table.rows),
        note=f"{table.note} {said}".strip(),
        emphasis=table.emphasis,
        aside=table.aside,
    )


def _empty(cell: object) -> bool:
    return isinstance(cell, str) and not any(letter in "123456789" for letter in cell)
