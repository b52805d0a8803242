"""The moves: what is still to do, what the state as found had called for, what was done and how it agrees."""

from collections.abc import Iterator
from dataclasses import dataclass

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment
from certgen.document.content import Block, Column, Paragraphs, Section, Table
from certgen.document.line_status import missing_names
from certgen.moves.after_moves import AdjustmentCheck, adjustment_checks
from certgen.moves.plan import AspectPlan, RollPlan, Stop, plan_of
from certgen.moves.steps import Step, other
from certgen.wording.rounding import NOTHING
from certgen.wording.values import Numbers, bare_pieces, check_cells, joined, reading
from certgen.wording.wording import Wording

Needed = tuple[RollPlan, AspectPlan]


def moves_made(assessment: Assessment, numbers: Numbers, wording: Wording) -> Iterator[Table]:
    """Yield what was called for as found, what was reported of it, and whether the change agrees; or nothing.

    A row for each bearing that was moved, or would have been; the check stands in the first row of its roll.
    """
    rows: list[tuple[str, ...]] = []
    strong: set[int] = set()
    unmoved: list[str] = []
    checks = [adjustment_checks(assessment, index) for index in range(len(assessment.rolls))]
    for result, found in zip(assessment.rolls, checks, strict=True):
        for name in ASPECTS:
            check = found.get(name)
            bearings = _bearings(assessment, result.id, name)
            if not bearings and check is not None and check.result == "agrees":
                unmoved.append(f"{result.id} ({wording.inline(name)})")
            elif check is not None:
                bearings = bearings or [(NOTHING, NOTHING, NOTHING)]
                strong |= {len(rows)} if check.result == "differs" else set()
            rows += _made_rows((result.id, wording.inline(name)), bearings, check, (numbers, wording))
    if rows:
        yield Table(
            caption=wording.word("adjustments"),
            columns=_made_columns(numbers, wording),
            rows=tuple(rows),
            note=_made_note([check for found in checks for check in found.values()], unmoved, wording),
            emphasis=frozenset(strong),
        )


_Bearing = tuple[str, float | str, float | str]


def _bearings(assessment: Assessment, roll: str, name: AspectName) -> list[_Bearing]:
    """The bearings with what was called for there as found, and what was reported."""
    planned = plan_of(assessment).by_roll[roll]
    plan = planned.found.get(name)
    called: dict[str, float] = {}
    # what the state as found still calls for stands among the moves to be made
    if plan is not None and plan.needed and not plan.held and plan is not planned.aspect(name):
        called[plan.move.side] = plan.move.amount_mm
    reported: dict[str, float] = {}
    for made in assessment.survey.adjustments:
        amount = made.up_mm if name == "level" else made.downstream_mm
        if made.roll == roll and amount is not None:
            reported[made.side] = reported.get(made.side, 0.0) + amount
    sides = [side for side in ("operator", "drive") if side in called or side in reported]
    return [(side, called.get(side, NOTHING), reported.get(side, NOTHING)) for side in sides]


def _made_rows(
    first: tuple[str, str],
    bearings: list[_Bearing],
    check: AdjustmentCheck | None,
    means: tuple[Numbers, Wording],
) -> Iterator[tuple[str, ...]]:
    """A row for each bearing, which begins with roll and aspect; the check ends the first of them."""
    numbers, wording = means
    for place, (side, *amounts) in enumerate(bearings):
        shown = (a if isinstance(a, str) else numbers.small(a) for a in amounts)
        said = _check_cells(check if place == 0 else None, numbers, wording)
        yield (*first, side if side == NOTHING else wording.word(side), *shown, *said)


def _check_cells(check: AdjustmentCheck | None, numbers: Numbers, wording: Wording) -> tuple[str, ...]:
    if check is None:
        return (NOTHING,) * 5
    return (*check_cells(numbers, check), wording.word(check.result))


def _made_columns(numbers: Numbers, wording: Wording) -> tuple[Column, ...]:
    word, small, slope = wording.word, numbers.small_signs(), numbers.slope_signs()
    moved, changed = word("made_moves"), word("made_changes")
    keys = ("check_predicted", "check_measured", "difference", "expanded")
    return (
        Column(word("roll"), "left", share=0.7),
        Column(word("aspect"), "left", share=0.9),
        Column(word("bearing_side"), "left", share=1.25),
        *(
            Column(word(key), group=f"{moved}, {small}", unit=small)
            for key in ("made_called", "made_reported")
        ),
        *(
            Column(
                word(key), group=f"{changed}, {slope}", share=0.8 if key == "expanded" else 1.0, unit=slope
            )
            for key in keys
        ),
        Column(word("agreement"), "left", f"{changed}, {slope}", 0.95),
    )


def _made_note(checks: list[AdjustmentCheck], unmoved: list[str], wording: Wording) -> str:
    """Which way a move counts, and how far the check goes, by whether every move states how it was read.

    `unmoved` were read again without a move, and no change was found.
    """
    moved = [check for check in checks if any(check.reported_mm)]
    read = all(check.u_moves_mm_per_m is not None for check in moved)
    said = [wording.word("adjustment_check_note", read=read)] if moved else []
    said += [wording.word("made_unmoved", list=joined(unmoved))] if unmoved else []
    return " ".join([wording.word("found_move_note"), *said])


@dataclass(frozen=True, slots=True)
class _Means:
    """What turns a plan into cells: numbers and words of the page, the sign of roll readings."""

    numbers: Numbers
    wording: Wording
    sign: float

    @property
    def small(self) -> str:
        """The units of moves."""
        return self.numbers.small_signs()


def moves_section(assessment: Assessment, numbers: Numbers, wording: Wording) -> Section:
    """Return the moves still possible where a roll does not pass, and those made."""
    means = _Means(numbers, wording, assessment.survey.positive.roll_sign)
    possible = [table for name in ASPECTS if (table := _possible(assessment, name, means)) is not None]
    blocks: list[Block] = [Paragraphs(tuple(_texts(assessment, bool(possible), means))), *possible]
    blocks += moves_made(assessment, numbers, wording)
    return Section(wording.word("section_moves"), tuple(blocks))


def _texts(assessment: Assessment, any_possible: bool, means: _Means) -> Iterator[str]:
    """What the tables hold and how a stop reading is taken; which rolls do not pass and cannot be moved."""
    word, plan = means.wording.word, plan_of(assessment)
    if all(one.level is None and one.parallel is None for one in plan.rolls):
        yield word("moves_none")
    elif any_possible:
        yield word("moves_intro", unit=means.small)
        setups = _setups(assessment)
        if setups:
            lies = word(f"lies {assessment.survey.positive.roll}")
            only = next(iter(setups)) if len(setups) == 1 else ""
            yield word("moves_stop", positive=lies, setup=only)
    elif not plan.not_adjustable and not plan.unread:
        yield word("moves_all_pass")
    if plan.unread:
        names = missing_names(((one.roll, one.aspect) for one in plan.unread), means.wording)
        yield word("moves_unread", list=joined(names))
    if plan.not_adjustable:
        texts = (
            f"{roll} ({joined(means.wording.inline(name) for name in names)})"
            for roll, names in plan.not_adjustable.items()
        )
        yield word("sheet_fixed", list=joined(texts))


def _needed(assessment: Assessment, name: AspectName) -> list[Needed]:
    """The rolls that do not pass and could be moved, in the order of the survey."""
    found = ((one, one.aspect(name)) for one in plan_of(assessment).rolls)
    return [(one, plan) for one, plan in found if plan is not None and plan.needed]


def _setups(assessment: Assessment) -> set[str]:
    """The setups for which the stop readings hold."""
    return {one.setup or "" for one, plan in _needed(assessment, "parallel") if plan.steps}


def _possible(assessment: Assessment, name: AspectName, means: _Means) -> Table | None:
    """The steps within travel and shims, what they leave, and the verdict then; None where none is needed."""
    needed = _needed(assessment, name)
    if not needed:
        return None
    extra = _extra(assessment, name, [plan for _, plan in needed])
    rows, strong = [], []
    for one, plan in needed:
        strong += [plan.predicted.verdict != "pass"] * max(len(plan.steps), 1)
        rows += list(_rows(one, plan, extra, means))
    last = name == "parallel" or not _needed(assessment, "parallel")
    return Table(
        caption=means.wording.word(f"move_{name}"),
        columns=tuple(_columns(extra, means)),
        rows=tuple(rows),
        note=means.wording.word("planned_note", slope=means.numbers.slope_signs()) if last else "",
        emphasis=frozenset(index for index, one in enumerate(strong) if one),
    )


def _extra(assessment: Assessment, name: AspectName, plans: list[AspectPlan]) -> tuple[str, ...]:
    """The columns that this table needs beside bearing and move."""
    wanted = {
        "zero_on": name == "parallel",
        "stop_reading": name == "parallel",
        "setup": name == "parallel" and len(_setups(assessment)) > 1,
        "shims": name == "level" and assessment.survey.shims is not None,
        "split": any(_split(plan) is not None for plan in plans),
        "remark": any(plan.limited or plan.held for plan in plans),
    }
    return tuple(key for key, needed in wanted.items() if needed)


def _columns(extra: tuple[str, ...], means: _Means) -> Iterator[Column]:
    word, small, slope = means.wording.word, means.small, means.numbers.slope_signs()
    yield Column(word("roll"), "left", share=0.85)
    if "zero_on" in extra:
        yield Column(word("zero_on"), "left", share=1.4)
    yield Column(word("move_and_watch" if "zero_on" in extra else "bearing_side"), "left", share=1.4)
    yield Column(word("move"), unit=small)
    if "stop_reading" in extra:
        yield Column(word("stop_reading"), unit=small)
    for key, share in (("setup", 1.1), ("shims", 1.2), ("split", 1.4)):
        if key in extra:
            yield Column(word(key), "left", share=share, unit="" if key == "setup" else small)
    yield Column(word("planned_error"), unit=slope)
    yield Column(word("expanded"), share=0.8, unit=slope)
    yield Column(word("planned_verdict"), "left", share=1.1)
    if "remark" in extra:
        yield Column(word("remark"), "left", share=2.0, unit=small)


def _rows(
    one: RollPlan, plan: AspectPlan, extra: tuple[str, ...], means: _Means
) -> Iterator[tuple[str, ...]]:
    """A row for each step, one without a step where nothing can be moved; what is expected ends the last."""
    steps: tuple[tuple[Step, Stop] | None, ...] = plan.steps or (None,)
    word, after = means.wording.word, means.numbers.state(plan.predicted)
    for index, pair in enumerate(steps):
        last = index == len(steps) - 1
        cells = _step_cells(one, pair, means) | {
            "split": _split_text(plan, means) if index == 0 else NOTHING,
            "remark": _remark(plan, means) if index == 0 else "",
        }
        keys = ("zero_on", "bearing", "move", "stop_reading", "setup", "shims", "split")
        shown = (cells[key] for key in keys if key in ("bearing", "move") or key in extra)
        told = last and not plan.held
        expected = (after.error, after.expanded, word(plan.predicted.verdict)) if told else (NOTHING,) * 3
        yield (one.roll.id, *shown, *expected, *((cells["remark"],) if "remark" in extra else ()))


def _step_cells(one: RollPlan, pair: tuple[Step, Stop] | None, means: _Means) -> dict[str, str]:
    """The cells of one step: the side to zero on, the bearing to move, the amount, where to stop, shims."""
    keys = ("zero_on", "bearing", "move", "stop_reading", "setup", "shims")
    if pair is None:
        return dict.fromkeys(keys, NOTHING)
    (step, stop), word, numbers = pair, means.wording.word, means.numbers
    shims = step.shims
    return {
        "zero_on": word(other(step.side)),
        "bearing": word(step.side),
        "move": numbers.small(step.amount_mm),
        "stop_reading": NOTHING if stop.target_mm is None else numbers.small(means.sign * stop.target_mm),
        "setup": one.setup or NOTHING,
        "shims": bare_pieces(numbers, shims) if shims is not None and shims.pieces_mm else NOTHING,
    }


def _remark(plan: AspectPlan, means: _Means) -> str:
    """What keeps the move from being made in full, or at all for now."""
    word = means.wording.word
    if plan.held:
        return word("held_back")
    return word("travel_short", wanted=reading(means.numbers, plan.move.amount_mm)) if plan.limited else ""


def _split(plan: AspectPlan) -> tuple[float, float] | None:
    """The same move about the centre, where both bearings have the room for it."""
    return next((way.moves_mm for way in plan.alternatives if way.way == "split" and way.fits), None)


def _split_text(plan: AspectPlan, means: _Means) -> str:
    pair = _split(plan)
    if pair is None or plan.held:
        return NOTHING
    operator, drive = (means.numbers.small(amount).split("\n") for amount in pair)
    return "\n".join(f"{o} / {d}" for o, d in zip(operator, drive, strict=True))
