"""The rolls that did not pass in one of the rounds: their worst figures against the limit, what was moved."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment, Measured, RollAspect
from certgen.assessment.rules import SETTLED, SEVERITY, Verdict
from certgen.document.content import Cell, Column, Strip, Table
from certgen.document.doubt_words import marked
from certgen.moves.plan import plan_of
from certgen.survey.survey import ROUNDS, Roll, Side
from certgen.wording.columns import ColumnFigures, column_figures
from certgen.wording.rounding import NOTHING
from certgen.wording.values import direction, joined, numbers_for
from certgen.wording.wording import Wording

_LEAST_REACH = 2.4  # limits that the strip reaches at least to either side
_MOST_REACH = 5.4  # and at most; a figure beyond is drawn at its end
_FEW = 6  # rolls of a line of which all stand in the table
_WORST_FIRST: tuple[Verdict, ...] = tuple(reversed(SEVERITY))


@dataclass(frozen=True, slots=True)
class Line:
    """A row of the table: a roll, the aspect, and what stands of it."""

    roll: Roll
    name: AspectName
    aspect: RollAspect
    verdict: Verdict

    def ratio(self) -> float:
        """Return the worst error of either round in limits."""
        return max((abs(s.error_mm_per_m) / s.limit_mm_per_m for s in self.states), default=0.0)

    @property
    def states(self) -> list[Measured]:
        """What was measured, as found before as left."""
        return [state for which in ROUNDS if (state := self.aspect.in_round(which)) is not None]


def table(assessment: Assessment, wording: Wording, *, worst: bool, most: int | None) -> Table | None:
    """Return the table, in the first unit of the page; None where every roll passes in every round.

    `worst` keeps one row per roll; beyond `most` rows the best are named in the note instead.
    """
    lines = _ordered(_lines(assessment))
    if not lines:
        return None
    dropped: list[Line] = []
    only = assessment.one_round
    if worst:
        kept = {one.roll.id: max((x for x in lines if x.roll is one.roll), key=_rank) for one in lines}
        dropped = [one for one in lines if kept[one.roll.id] is not one]
        lines = [one for one in lines if kept[one.roll.id] is one]
    unnamed = lines[most:] if most is not None else []
    lines = lines[:most] if most is not None else lines
    return _table(assessment, lines, _note(lines, dropped, unnamed, wording, only=only), wording)


def _lines(assessment: Assessment) -> list[Line]:
    last, found = assessment.last_round, []
    for roll, result in zip(assessment.survey.rolls, assessment.rolls, strict=True):
        for name in ASPECTS:
            aspect = result.aspect(name)
            if any(aspect.verdict(which) not in SETTLED for which in ROUNDS):
                found.append(Line(roll, name, aspect, aspect.verdict(last)))
    return found


def _rank(line: Line) -> tuple[int, float]:
    place = -1 if line.verdict in SETTLED else SEVERITY.index(line.verdict)
    return place, line.ratio()


def _ordered(lines: list[Line]) -> list[Line]:
    """By the verdict on the last round, the worst first; within it in the order of the line."""
    return [
        one
        for verdict in (*_WORST_FIRST[:-1], "not measured", "pass")
        for one in lines
        if one.verdict == verdict
    ]


def _note(
    lines: list[Line], dropped: list[Line], unnamed: list[Line], wording: Wording, *, only: bool
) -> str:
    """Signs and marks; what is not shown, by name. `only` says that there was one round."""
    texts = [wording.word("not_passed_signs_one" if only else "not_passed_signs")]
    if dropped and lines:
        section = wording.word("section_results")
        texts.append(wording.word("not_passed_worst", more=len(dropped), section=section))
    if unnamed:
        names = joined(dict.fromkeys(f"{one.roll.id} ({wording.word(one.verdict)})" for one in unnamed))
        texts.append(wording.word("not_passed_also", list=names))
    close = [one for one in lines if any(_close(state) for state in one.states)]
    if close:
        named = joined(f"{one.roll.id} {wording.inline(one.name)}" for one in close)
        texts.append(wording.word("not_passed_close", list=named))
    return " ".join(texts)


def _close(state: Measured) -> bool:
    """A fail within the limit: by less than U, so that it is not shown to pass."""
    return state.verdict == "fail" and abs(state.error_mm_per_m) <= state.limit_mm_per_m


def _table(assessment: Assessment, lines: list[Line], note: str, wording: Wording) -> Table:
    numbers = numbers_for(assessment.survey, wording.digits)
    states = [(one.roll.id, state) for one in lines for state in one.states]
    rolls: dict[str, Roll | None] = {roll.id: roll for roll in assessment.survey.rolls}
    figures = column_figures(numbers, "bearings", rolls, states)[0]
    word, rounds = wording.word, assessment.surveyed
    only = len(rounds) == 1
    columns = (
        Column(word("roll"), "left", share=0.62),
        Column(word("name"), "left", share=1.75),
        Column(word("judged_for"), "left", share=1.5),
        *(Column(word("error" if only else which), share=1.15, unit=figures.sign) for which in rounds),
        Column(word("expanded"), share=0.75, unit=figures.sign),
        Column(f"{word('limit')} ±", share=0.85, unit=figures.sign),
        Column("", "strip", share=1.7),
        Column(word("to_move" if only else "moved_by"), "left", share=2.3),
    )
    most = min(max([_LEAST_REACH, *(one.ratio() * 1.1 for one in lines)]), _MOST_REACH)
    rows = tuple(_row(assessment, one, figures, most, wording) for one in lines)
    strong = frozenset(
        (index, 3 + place)
        for index, one in enumerate(lines)
        for place, which in enumerate(rounds)
        if one.aspect.verdict(which) not in SETTLED
    )
    target = any(state.target_mm_per_m for one in lines for state in one.states)
    aside = word("not_passed_unit", unit=figures.sign, target=target)
    groups = tuple(_groups(assessment, lines, wording))
    return Table(word("not_passed_title"), columns, rows, note, strong=strong, groups=groups, aside=aside)


def _groups(assessment: Assessment, lines: Sequence[Line], wording: Wording) -> Iterator[tuple[int, str]]:
    """A title before the first row of each verdict on the last round."""
    last, before = assessment.last_round, ""
    for index, one in enumerate(lines):
        if one.verdict != before:
            title = wording.word("titled", title=wording.word(last), text=wording.word(one.verdict))
            put_right = one.verdict in SETTLED and one.verdict != "not measured"
            yield index, wording.word("put_right") if put_right else title
        before = one.verdict


def _row(
    assessment: Assessment, line: Line, figures: ColumnFigures, most: float, wording: Wording
) -> tuple[Cell, ...]:
    row, doubtful = line.roll.id, marked(assessment, line.name)
    texts = []
    for which in assessment.surveyed:
        state = line.aspect.in_round(which)
        mark = " ?" if (row, which) in doubtful else ""
        texts.append(NOTHING if state is None else figures.error(row, state) + mark)
    larger = max(line.states, key=lambda state: state.U_mm_per_m)
    moved = _to_move if assessment.one_round else _moved
    return (
        row,
        line.roll.name,
        wording.inline(line.name),
        *texts,
        figures.expanded(row, larger),
        figures.limit(row, line.states[-1]),
        _strip(assessment, line, most),
        moved(assessment, line, wording),
    )


def _strip(assessment: Assessment, line: Line, most: float) -> Strip:
    found, left = line.aspect.as_found, line.aspect.as_left
    only = assessment.one_round
    shares = [None if s is None else s.error_mm_per_m / s.limit_mm_per_m for s in (found, left)]
    larger = max(state.U_mm_per_m / state.limit_mm_per_m for state in line.states)
    return Strip(None, shares[0], larger, most) if only else Strip(shares[0], shares[1], larger, most)


def _moved(assessment: Assessment, line: Line, wording: Wording) -> str:
    """What the crew reported of it; what can be said where it reported nothing."""
    texts = []
    for made in assessment.survey.adjustments:
        amount = made.up_mm if line.name == "level" else made.downstream_mm
        if made.roll == line.roll.id and amount:
            texts.append(_amount(assessment, amount, made.side, line.name, wording))
    if texts:
        return joined(texts)
    if line.roll.adjustable == "none":
        return wording.word("moved not adjustable")
    change = line.aspect.change
    return wording.word("moved not reported" if change is not None and change.significant else "moved not")


def _to_move(assessment: Assessment, line: Line, wording: Wording) -> str:
    """What its last measured state calls for."""
    plan = plan_of(assessment).by_roll[line.roll.id].aspect(line.name)
    if plan is None:
        return wording.word("moved not adjustable")
    if plan.held:
        return wording.word("moved held")
    if not plan.needed:
        return NOTHING
    return _amount(assessment, plan.move.amount_mm, plan.move.side, line.name, wording)


def _amount(assessment: Assessment, amount_mm: float, side: Side, name: AspectName, wording: Wording) -> str:
    """An amount in the first unit of the page, its direction in words and the letters of the side."""
    numbers = numbers_for(assessment.survey, wording.digits)
    units = numbers.units[0]
    size = wording.digits.plain(abs(amount_mm) * units.small.per_engine_unit, 3 if units.name == "mm" else 1)
    return f"{size} {direction(name, amount_mm, wording)} {wording.word(f'{side}_mark')}"
