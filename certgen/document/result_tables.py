"""The tables of results: as found, as left and change, for level, parallel and adjacent rolls."""

from collections.abc import Mapping, Sequence

from certgen.assessment.assessment import (
    AdjacentResult,
    AspectName,
    Assessment,
    Change,
    Measured,
    RollAspect,
    RollResult,
)
from certgen.assessment.doubt import AspectDoubts
from certgen.assessment.rules import SETTLED, Verdict
from certgen.document.content import Column, Table
from certgen.document.doubt_words import Marks
from certgen.survey.survey import ROUNDS, Round
from certgen.wording.rounding import NOTHING
from certgen.wording.values import Numbers, StateCells
from certgen.wording.wording import Wording

_LAST, _LAST_WITH_TARGET = ("change", "limit"), ("change", "target", "limit")


def result_table(
    rolls: Sequence[RollResult],
    name: AspectName,
    numbers: Numbers,
    wording: Wording,
    doubtful: Marks = frozenset(),
) -> Table:
    """Return the table of one aspect: slope, over bearings, U and verdict in both rounds, change, limit.

    `doubtful` are the rolls and rounds whose verdict is marked as in doubt.
    """
    rows = [(roll.id, roll.aspect(name)) for roll in rolls]
    lasts = (aspect.recorded for _, aspect in rows)
    targets = any(last is not None and last.target_mm_per_m for last in lasts)
    signs = {"slope": numbers.slope_signs(), "small": numbers.small_signs()}
    return Table(
        caption=wording.word(f"table_{name}"),
        columns=_result_columns(numbers, wording, _LAST_WITH_TARGET if targets else _LAST),
        rows=tuple(
            (roll_id, *_result_cells(aspect, numbers, wording, (targets, _rounds(doubtful, roll_id))))
            for roll_id, aspect in rows
        ),
        note=wording.word("table_note_units", targets=targets, **signs),
        emphasis=frozenset(
            index for index, (_, aspect) in enumerate(rows) if aspect.standing_verdict not in SETTLED
        ),
    )


def _result_columns(numbers: Numbers, wording: Wording, last: tuple[str, ...]) -> tuple[Column, ...]:
    slope = numbers.slope_signs()
    found_left = [
        column for which in ROUNDS for column in _state_columns(numbers, wording, wording.word(which))
    ]
    roll = Column(wording.word("roll"), "left", share=0.8)
    return (roll, *found_left, *(Column(wording.word(key), share=0.95, unit=slope) for key in last))


def _state_columns(numbers: Numbers, wording: Wording, group: str) -> list[Column]:
    slope, small = numbers.slope_signs(), numbers.small_signs()
    return [
        Column(wording.word("slope"), group=group, unit=slope),
        Column(wording.word("over_bearings"), group=group, unit=small),
        Column(wording.word("expanded"), group=group, share=0.85, unit=slope),
        Column(wording.word("verdict"), "left", group, 1.3),
    ]


def _rounds(doubtful: Marks, roll: str) -> frozenset[Round]:
    return frozenset(which for which in ROUNDS if (roll, which) in doubtful)


def _result_cells(
    aspect: RollAspect, numbers: Numbers, wording: Wording, how: tuple[bool, frozenset[Round]]
) -> tuple[str, ...]:
    """`how` says whether targets are shown, and the rounds in doubt: a word on a line under their verdict."""
    found, left = numbers.state(aspect.as_found), numbers.state(aspect.as_left)
    stated = numbers.state(aspect.recorded)
    targets, doubtful = how
    marks = {which: f"\n{wording.word('in_doubt')}" if which in doubtful else "" for which in ROUNDS}
    return (
        *_state_cells(found, _verdict_cell(aspect, "as_found", wording) + marks["as_found"]),
        *_state_cells(left, _verdict_cell(aspect, "as_left", wording) + marks["as_left"]),
        numbers.change(aspect.change)[0],
        *([stated.target] if targets else []),
        stated.limit,
    )


def _state_cells(cells: StateCells, verdict: str) -> tuple[str, str, str, str]:
    return cells.slope, cells.over_bearings, cells.expanded, verdict


def _verdict_cell(aspect: RollAspect, which: Round, wording: Wording) -> str:
    """The verdict in a round, on a second line why there is none or that the roll was not adjusted.

    Where nothing at all was read as left there is nothing to be said of it.
    """
    reason, verdict = aspect.reasons.get(which), wording.word(aspect.verdict(which))
    if reason is not None:
        return NOTHING if reason == "not read as left" else f"{verdict}\n{wording.word(f'reason {reason}')}"
    stood = aspect.as_left is not None and not aspect.adjusted and aspect.verdict("as_left") != "reference"
    return f"{verdict}\n{wording.word('not adjusted')}" if stood and which == "as_left" else verdict


def adjacent_table(
    assessment: Assessment, name: AspectName, numbers: Numbers, wording: Wording
) -> Table | None:
    """Return the table of differences along the web; None where no adjacent tolerance was given."""
    pairs = [pair for pair in assessment.adjacent if name in pair.judged]
    if not pairs:
        return None
    return Table(
        caption=wording.word(f"table_adjacent_{name}"),
        columns=_result_columns(numbers, wording, ("limit",)),
        rows=tuple(_adjacent_cells(pair, assessment.doubts[name], numbers, wording) for pair in pairs),
        note=wording.word("table_note_adjacent", slope=numbers.slope_signs()),
        emphasis=frozenset(
            i for i, pair in enumerate(pairs) if _verdict(pair, name, assessment.last_round) not in SETTLED
        ),
    )


def _verdict(pair: AdjacentResult, name: AspectName, which: Round) -> Verdict:
    state = pair.aspect(name).get(which)
    return "not measured" if state is None else state.verdict


def _adjacent_cells(
    pair: AdjacentResult, doubts: AspectDoubts, numbers: Numbers, wording: Wording
) -> tuple[str, ...]:
    name = doubts.name
    states = {which: numbers.state(pair.aspect(name).get(which)) for which in ROUNDS}
    cells = [
        cell
        for which in ROUNDS
        for cell in _state_cells(states[which], _pair_verdict(pair, doubts, which, wording))
    ]
    limits = (states[which].limit for which in ("as_left", "as_found") if which in pair.aspect(name))
    return (_pair(pair), *cells, next(limits, NOTHING))


def _pair_verdict(pair: AdjacentResult, doubts: AspectDoubts, which: Round, wording: Wording) -> str:
    """The verdict on a difference; one in doubt says so on a second line."""
    if pair.reasons.get((doubts.name, which)) == "not read as left":
        return NOTHING
    verdict = wording.word(_verdict(pair, doubts.name, which))
    return f"{verdict}\n{wording.word('in_doubt')}" if doubts.casts_on_pair(pair, which) else verdict


def figures_table(assessment: Assessment, name: AspectName, numbers: Numbers, wording: Wording) -> Table:
    """Return the figures behind the verdicts on rolls: target, error, u, conformance, u and U of change."""
    change = wording.word("change")
    last = (
        Column(wording.word("standard"), group=change, share=0.9, unit=numbers.slope_signs()),
        Column(wording.word("expanded"), group=change, share=0.9, unit=numbers.slope_signs()),
        Column(wording.word("significant"), "left", change, 1.25),
    )
    rows = [(roll.id, roll.aspect(name)) for roll in assessment.rolls]
    return Table(
        caption=wording.word("table_figures", aspect=wording.word(name)),
        columns=(*_figure_columns(numbers, wording), *last),
        rows=tuple(
            (
                roll_id,
                *_figure_cells({w: aspect.in_round(w) for w in ROUNDS}, numbers),
                *numbers.change(aspect.change)[1:],
                _significant(aspect.change, wording),
            )
            for roll_id, aspect in rows
        ),
    )


def _significant(change: Change | None, wording: Wording) -> str:
    """Whether the change is larger than its U; a dash where there is none."""
    if change is None:
        return NOTHING
    return wording.word("is_significant" if change.significant else "is_not_significant")


def adjacent_figures(
    assessment: Assessment, name: AspectName, numbers: Numbers, wording: Wording
) -> Table | None:
    """Return the figures behind the verdicts on adjacent rolls; None where there are none."""
    pairs = [pair for pair in assessment.adjacent if name in pair.judged]
    if not pairs:
        return None
    return Table(
        caption=wording.word("table_figures", aspect=wording.word(f"table_adjacent_{name}")),
        columns=_figure_columns(numbers, wording),
        rows=tuple((_pair(pair), *_figure_cells(pair.aspect(name), numbers)) for pair in pairs),
    )


def _figure_columns(numbers: Numbers, wording: Wording) -> tuple[Column, ...]:
    keys = (("target", 1.0), ("error", 1.0), ("standard", 0.9), ("probability", 1.4))
    units = dict.fromkeys(("target", "error", "standard"), numbers.slope_signs())
    per_round = [
        Column(wording.word(key), group=wording.word(which), share=share, unit=units.get(key, ""))
        for which in ROUNDS
        for key, share in keys
    ]
    return (Column(wording.word("roll"), "left", share=0.8), *per_round)


def _figure_cells(states: Mapping[Round, Measured | None], numbers: Numbers) -> tuple[str, ...]:
    cells: list[str] = []
    for which in ROUNDS:
        state = states.get(which)
        text = numbers.state(state)
        judged = state is not None and state.verdict != "reference"
        share = numbers.digits.percent(state.conformance_probability) if state and judged else None
        cells += [text.target, text.error, text.standard, NOTHING if share is None else f"{share} %"]
    return tuple(cells)


def _pair(pair: AdjacentResult) -> str:
    return f"{pair.from_} {NOTHING} {pair.to}"
