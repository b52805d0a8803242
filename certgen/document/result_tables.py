"""The tables of results: errors as found and as left against the limit, of rolls and of neighbours."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from certgen.assessment.assessment import (
    AdjacentResult,
    AspectName,
    Assessment,
    Change,
    Measured,
    RollAspect,
    RollResult,
)
from certgen.assessment.rules import SETTLED
from certgen.document.content import Column, Table
from certgen.document.doubt_words import Marks, marked
from certgen.survey.survey import ROUNDS, Limit, Roll, Round, Survey
from certgen.wording.columns import ColumnFigures, Form, column_figures, form_of
from certgen.wording.rounding import NOTHING, Digits
from certgen.wording.values import Numbers, joined, stated
from certgen.wording.wording import Wording

ZERO = "0"  # the error of the reference, which is zero by definition


@dataclass(frozen=True, slots=True)
class _Row:
    """A row: who it is of, its states and verdicts in words by round, its change or why there is none."""

    key: str
    name: str
    states: Mapping[Round, Measured | None]
    verdicts: Mapping[Round, str]
    change: Change | str | None = None

    @property
    def last(self) -> Measured | None:
        """The last state that was measured."""
        return self.states.get("as_left") or self.states.get("as_found")


@dataclass(frozen=True, slots=True)
class _Layout:
    """What the columns show: the figure with its U in each unit, the other form of it, change, limit."""

    rounds: Sequence[Round]
    first: ColumnFigures
    other: tuple[ColumnFigures, ...]
    change: bool
    limits: bool
    named: bool
    shares: bool
    keys: Mapping[str, str]
    wording: Wording

    @property
    def digits(self) -> Digits:
        """The digits of the language."""
        return self.wording.digits

    def columns(self) -> tuple[Column, ...]:
        """Return the columns, those of a round under its name."""
        word = self.wording.word
        found = [Column(word("roll"), "left", share=0.75 if self.named or not self.shares else 1.3)]
        found += [Column(word("name"), "left", share=1.9)] if self.named else []
        for which in self.rounds:
            group = word(which)
            found.append(_figure_column(word(self.keys["first"]), self.first, group))
            found.append(_figure_column(word("expanded"), self.first, group, share=0.8))
            found += [_figure_column(word(self.keys["other"]), one, group) for one in self.other]
            found += [Column(word("probability"), "right", group, 1.3)] if self.shares else []
            found.append(Column(word("verdict"), "left", group, 1.3))
        found += [_figure_column(word("change"), self.first, share=2.0)] if self.change else []
        found += [_figure_column(f"{word('limit')} ±", self.first, share=0.85)] if self.limits else []
        return tuple(found)

    def cells(self, row: _Row) -> tuple[str, ...]:
        """Return the cells of a row."""
        found = [row.key, *([row.name] if self.named else [])]
        for which in self.rounds:
            state = row.states.get(which)
            found += _error_and_u(self.first, row.key, state)
            found += [_error_and_u(figures, row.key, state)[0] for figures in self.other]
            found += [_share(state, self.digits)] if self.shares else []
            found.append(row.verdicts[which])
        if self.change:
            found.append(
                row.change if isinstance(row.change, str) else self.first.change(row.key, row.change)
            )
        found += [_limit(self.first, row)] if self.limits else []
        return tuple(str(one) for one in found)

    def strong(self, index: int, row: _Row) -> list[tuple[int, int]]:
        """Return the cells of a row that hold what did not pass: figure and verdict."""
        width = 2 + len(self.other) + self.shares + 1
        start = 2 if self.named else 1
        return [
            (index, start + place * width + column)
            for place, which in enumerate(self.rounds)
            if (state := row.states.get(which)) is not None and state.verdict not in SETTLED
            for column in (0, width - 1)
        ]


def _figure_column(title: str, figures: ColumnFigures, group: str = "", share: float = 1.0) -> Column:
    return Column(title, "right", group, share, figures.sign, shows_unit=True)


def _error_and_u(figures: ColumnFigures, key: str, state: Measured | None) -> tuple[str, str]:
    if state is None:
        return NOTHING, NOTHING
    if state.verdict == "reference" and not state.U_mm_per_m:
        return ZERO, ""
    return figures.error(key, state), figures.expanded(key, state)


def _share(state: Measured | None, digits: Digits) -> str:
    return NOTHING if state is None else f"{digits.percent(state.conformance_probability)} %"


def _limit(figures: ColumnFigures, row: _Row) -> str:
    if row.last is None or row.last.verdict == "reference":
        return NOTHING
    return figures.limit(row.key, row.last)


def result_table(
    rolls: Sequence[RollResult],
    name: AspectName,
    numbers: Numbers,
    wording: Wording,
    *,
    doubtful: Marks = frozenset(),
    survey: Survey | None = None,
    rounds: Sequence[Round] = ROUNDS,
) -> Table:
    """Return the table of one aspect: error, U and verdict in each round, change, limit where they differ.

    `doubtful` are the rolls and rounds whose verdict is marked as in doubt. Without the survey, of which only
    results are left, every figure is a slope.
    """
    of = {roll.id: roll for roll in survey.rolls} if survey is not None else {}
    rows = [
        _Row(
            key=roll.id,
            name=of[roll.id].name if roll.id in of else "",
            states={which: roll.aspect(name).in_round(which) for which in rounds},
            verdicts={
                which: _verdict_text(roll.aspect(name), which, wording)
                + (f"\n{wording.word('in_doubt')}" if (roll.id, which) in doubtful else "")
                for which in rounds
            },
            change=_change_of(roll.aspect(name), wording),
        )
        for roll in rolls
    ]
    limits = [roll.level_limit if name == "level" else roll.parallel_limit for roll in of.values()]
    over = {roll.id: of.get(roll.id) for roll in rolls}
    return _table(wording.word(f"table_{name}"), rows, limits, over, (rounds, numbers, wording))


def aspect_table(assessment: Assessment, name: AspectName, numbers: Numbers, wording: Wording) -> Table:
    """Return the table of one aspect of an assessed survey."""
    return result_table(
        assessment.rolls,
        name,
        numbers,
        wording,
        doubtful=marked(assessment, name),
        survey=assessment.survey,
        rounds=assessment.surveyed,
    )


def _change_of(aspect: RollAspect, wording: Wording) -> Change | str | None:
    """The change; that a roll was not measured again, whose value found stands as left."""
    stood = aspect.as_left is not None and not aspect.adjusted
    if stood and aspect.verdict("as_left") != "reference" and aspect.as_found is not None:
        return wording.word("not adjusted")
    return aspect.change if aspect.verdict("as_left") != "reference" else None


def _verdict_text(aspect: RollAspect, which: Round, wording: Wording) -> str:
    """The verdict in a round, on a second line why there is none; a dash where nothing was read as left."""
    reason, verdict = aspect.reasons.get(which), wording.word(aspect.verdict(which))
    if reason == "not read as left":
        return NOTHING
    return verdict if reason is None else f"{verdict}\n{wording.word(f'reason {reason}')}"


def adjacent_table(
    assessment: Assessment, name: AspectName, numbers: Numbers, wording: Wording
) -> Table | None:
    """Return the table of differences along the web; None where no adjacent tolerance was given."""
    pairs = [pair for pair in assessment.adjacent if name in pair.judged]
    if not pairs:
        return None
    rolls = {roll.id: roll for roll in assessment.survey.rolls}
    rows = [
        _Row(
            key=_pair(pair),
            name="",
            states={which: pair.aspect(name).get(which) for which in ROUNDS},
            verdicts={which: _pair_verdict(assessment, pair, name, which, wording) for which in ROUNDS},
        )
        for pair in pairs
    ]
    limits = [rolls[pair.to].adjacent_limit for pair in pairs]
    over: dict[str, Roll | None] = {_pair(pair): rolls[pair.to] for pair in pairs}
    caption = wording.word(f"table_adjacent_{name}")
    return _table(caption, rows, limits, over, (assessment.surveyed, numbers, wording), shares=True)


def _pair_verdict(
    assessment: Assessment, pair: AdjacentResult, name: AspectName, which: Round, wording: Wording
) -> str:
    """The verdict on a difference; one in doubt says so on a second line."""
    if pair.reasons.get((name, which)) == "not read as left":
        return NOTHING
    state = pair.aspect(name).get(which)
    verdict = wording.word("not measured" if state is None else state.verdict)
    doubtful = assessment.doubts[name].casts_on_pair(pair, which)
    return f"{verdict}\n{wording.word('in_doubt')}" if doubtful else verdict


def _pair(pair: AdjacentResult) -> str:
    return f"{pair.from_} {NOTHING} {pair.to}"


def _table(
    caption: str,
    rows: list[_Row],
    limits: Sequence[Limit | None],
    over: Mapping[str, Roll | None],
    means: tuple[Sequence[Round], Numbers, Wording],
    *,
    shares: bool = False,
) -> Table:
    """The order's form of the figure stands first; then it in the other unit, or else in the other form."""
    rounds, numbers, wording = means
    stated_limits = list(dict.fromkeys(limit.stated for limit in limits if limit is not None))
    form = form_of(limits) if all(over.values()) else "slope"
    states = [(row.key, state) for row in rows for state in row.states.values() if state is not None]
    first = column_figures(numbers, form, over, states)
    second: Form = "bearings" if form == "slope" else "slope"
    both = len(numbers.units) > 1
    roomy = all(over.values()) and not shares and len(stated_limits) == 1
    layout = _Layout(
        rounds=rounds,
        first=first[0],
        other=first[1:] if both else column_figures(numbers, second, over, states) if roomy else (),
        change=any(row.change is not None for row in rows) and "as_left" in rounds,
        limits=len(stated_limits) != 1,
        shares=shares,
        named=any(row.name for row in rows),
        keys={"first": _TITLES[form], "other": _TITLES[form if both else second]},
        wording=wording,
    )
    target = any(state.target_mm_per_m for _, state in states)
    notes = [wording.word("results_note", target=target, two=bool(layout.other) and not both)]
    close = dict.fromkeys(key for key, state in states if first[0].contradicts(key, state))
    notes += [wording.word("results_places", list=joined(close))] if close else []
    one = wording.word("results_limit", limit=stated(stated_limits[0], wording)) if not layout.limits else ""
    return Table(
        caption=caption,
        columns=layout.columns(),
        rows=tuple(layout.cells(row) for row in rows),
        note=" ".join(notes),
        strong=frozenset(cell for index, row in enumerate(rows) for cell in layout.strong(index, row)),
        aside=one,
    )


_TITLES: Mapping[Form, str] = {"slope": "error_slope", "bearings": "error_bearings", "face": "error_face"}
