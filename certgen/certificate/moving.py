"""The moves: what the state as found called for, what remains, and what the crew says it did."""

from collections.abc import Iterator

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment, RollAspect
from certgen.certificate.content import Block, Column, Paragraphs, Section, Table
from certgen.certificate.numbers import Numbers
from certgen.certificate.rounding import NOTHING
from certgen.certificate.wording import Wording
from certgen.engine.moves import Move
from certgen.survey.survey import Survey


def moves_section(assessment: Assessment, numbers: Numbers, wording: Wording) -> Section:
    """Return the moves of every roll that can be moved, level and parallel, and the crew's adjustments."""
    survey = assessment.survey
    positive = wording.word(survey.positive.roll)
    intro = wording.word("moves_intro", positive=positive, unit=numbers.small_signs())
    tables = [_table(assessment, name, numbers, wording) for name in ASPECTS]
    blocks: list[Block] = [Paragraphs((intro,)), *(table for table in tables if table.rows)]
    if survey.adjustments:
        blocks.append(_adjustments(survey, numbers, wording))
    return Section(wording.word("section_moves"), tuple(blocks))


def _table(assessment: Assessment, name: AspectName, numbers: Numbers, wording: Wording) -> Table:
    sign = -1.0 if assessment.survey.positive.roll == "upstream" else 1.0
    moving = [(roll.id, roll.aspect(name)) for roll in assessment.rolls if roll.aspect(name).moves]
    split = any(move.split_mm for _, aspect in moving for move in aspect.moves.values())
    rows = tuple(
        (
            roll_id,
            *(
                cell
                for move in _moves(aspect)
                for cell in _cells(move, name, split, (numbers, wording, sign))
            ),
        )
        for roll_id, aspect in moving
    )
    return Table(wording.word(f"move_{name}"), _columns(name, split, wording), rows)


def _moves(aspect: RollAspect) -> tuple[Move | None, Move | None]:
    """The move from the state as found, and what remains from the latest state that was measured."""
    return aspect.moves.get("as_found"), aspect.move


def _columns(name: AspectName, split: bool, wording: Wording) -> tuple[Column, ...]:
    columns = [Column(wording.word("roll"), "left", share=0.6)]
    for group in (wording.word("found_move"), wording.word("left_move")):
        columns.append(Column(wording.word("bearing_side"), "left", group))
        columns.append(Column(wording.word("move"), group=group))
        if name == "parallel":
            columns.append(Column(wording.word("stop_reading"), group=group))
        if split:
            columns.append(Column(wording.word("split"), "left", group, 1.4))
    return tuple(columns)


def _cells(
    move: Move | None, name: AspectName, split: bool, means: tuple[Numbers, Wording, float]
) -> Iterator[str]:
    """Side, amount, stop reading in the sign the crew reads, alternative about the centre."""
    numbers, wording, sign = means
    yield NOTHING if move is None else wording.word(move.side)
    yield NOTHING if move is None else numbers.small(move.amount_mm)
    if name == "parallel":
        stop = None if move is None else move.stop_reading_mm
        yield NOTHING if stop is None else numbers.small(sign * stop)
    if split:
        pair = None if move is None else move.split_mm
        yield NOTHING if pair is None else _pair(pair, numbers)


def _pair(pair: tuple[float, float], numbers: Numbers) -> str:
    operator, drive = (numbers.small(amount).split("\n") for amount in pair)
    return "\n".join(f"{o} / {d}" for o, d in zip(operator, drive, strict=True))


def _adjustments(survey: Survey, numbers: Numbers, wording: Wording) -> Table:
    def shown(amount: float | None) -> str:
        return NOTHING if amount is None else numbers.small(amount)

    return Table(
        caption=wording.word("adjustments"),
        columns=(
            Column(wording.word("roll"), "left"),
            Column(wording.word("bearing_side"), "left"),
            Column(wording.word("adjustment_up")),
            Column(wording.word("adjustment_downstream")),
        ),
        rows=tuple(
            (made.roll, wording.word(made.side), shown(made.up_mm), shown(made.downstream_mm))
            for made in survey.adjustments
        ),
    )
