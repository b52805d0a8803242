"""The moves: what the state as found called for, what remains, what is still to do, and what was done."""

from collections.abc import Iterator

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment
from certgen.assessment.plan import AspectPlan
from certgen.certificate.content import Block, Column, Paragraphs, Section, Table
from certgen.certificate.crew_numbers import bare_pieces
from certgen.certificate.moves_made import moves_made
from certgen.certificate.moves_planned import planned_table
from certgen.certificate.numbers import Numbers
from certgen.certificate.rounding import NOTHING
from certgen.certificate.wording import Wording

Pair = tuple[AspectPlan | None, AspectPlan | None]


def moves_section(assessment: Assessment, numbers: Numbers, wording: Wording) -> Section:
    """Return the moves of every roll that can be moved, level and parallel, and the crew's adjustments."""
    survey = assessment.survey
    positive = wording.word(f"lies {survey.positive.roll}")
    made = (_table(assessment, name, numbers, wording) for name in ASPECTS)
    tables = [table for table in made if table.rows]
    intro = wording.word("moves_intro", positive=positive, unit=numbers.small_signs())
    blocks: list[Block] = [Paragraphs((intro if tables else wording.word("moves_none"),)), *tables]
    planned = planned_table(assessment, numbers, wording)
    blocks += [planned] if planned is not None else []
    blocks += moves_made(assessment, numbers, wording)
    return Section(wording.word("section_moves"), tuple(blocks))


def _table(assessment: Assessment, name: AspectName, numbers: Numbers, wording: Wording) -> Table:
    sign = assessment.survey.positive.roll_sign
    moving = [
        (roll.id, _plans(assessment, index, name))
        for index, roll in enumerate(assessment.rolls)
        if any(_plans(assessment, index, name))
    ]
    extra = _extra(assessment, name, [pair for _, pair in moving])
    rows = tuple(
        (roll_id, *(cell for plan in pair for cell in _cells(plan, extra, (numbers, wording, sign))))
        for roll_id, pair in moving
    )
    return Table(wording.word(f"move_{name}"), _columns(extra, numbers, wording), rows)


def _plans(assessment: Assessment, index: int, name: AspectName) -> Pair:
    """From the state as found, and what remains from the latest state that was measured."""
    plan = assessment.plan.rolls[index]
    return plan.found.get(name), plan.aspect(name)


def _extra(assessment: Assessment, name: AspectName, pairs: list[Pair]) -> tuple[str, ...]:
    """The columns behind bearing and move: the laser's stop reading, shims, the move about the centre."""
    split = any(plan is not None and plan.move.split_mm for pair in pairs for plan in pair)
    shims = name == "level" and assessment.survey.shims is not None
    keys = {"stop_reading": name == "parallel", "shims": shims, "split": split}
    return tuple(key for key, wanted in keys.items() if wanted)


def _columns(extra: tuple[str, ...], numbers: Numbers, wording: Wording) -> tuple[Column, ...]:
    small = numbers.small_signs()
    columns = [Column(wording.word("roll"), "left", share=0.7)]
    for group in (wording.word("found_move"), wording.word("left_move")):
        columns += [
            Column(wording.word("bearing_side"), "left", group, 1.15),
            Column(wording.word("move"), group=group, unit=small),
        ]
        for key in extra:
            if key == "stop_reading":
                columns.append(Column(wording.word(key), group=group, unit=small))
            else:
                share = 1.4 if key == "split" else 1.1
                columns.append(Column(wording.word(key), "left", group, share, small))
    return tuple(columns)


def _cells(
    plan: AspectPlan | None, extra: tuple[str, ...], means: tuple[Numbers, Wording, float]
) -> Iterator[str]:
    """Side and amount; stop reading in the sign the crew reads, shims, alternative about the centre."""
    numbers, wording, sign = means
    if plan is None or plan.held:
        yield from [NOTHING] * (2 + len(extra))
        return
    move = plan.move
    stop = move.stop_reading_mm
    yield wording.word(move.side)
    yield numbers.small(move.amount_mm)
    cells = {
        "stop_reading": NOTHING if stop is None else numbers.small(sign * stop),
        "shims": _shims(plan, numbers),
        "split": NOTHING if move.split_mm is None else _pair(move.split_mm, numbers),
    }
    yield from (cells[key] for key in extra)


def _shims(plan: AspectPlan, numbers: Numbers) -> str:
    """The pack under the bearing that is meant to be raised; a dash where there is none."""
    packs = [step.shims for step, _ in plan.steps if step.side == plan.move.side]
    return bare_pieces(numbers, packs[0]) if packs and packs[0] and packs[0].pieces_mm else NOTHING


def _pair(pair: tuple[float, float], numbers: Numbers) -> str:
    operator, drive = (numbers.small(amount).split("\n") for amount in pair)
    return "\n".join(f"{o} / {d}" for o, d in zip(operator, drive, strict=True))
