"""One roll of the work sheet: its steps in words and numbers, what to watch, and what to expect."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from certgen.assessment.assessment import ASPECTS, AspectName
from certgen.assessment.doubt import Hold
from certgen.document.doubt_words import read_again_text, readings_text
from certgen.moves.plan import AspectPlan, RollPlan, Stop
from certgen.moves.steps import Alternative, Step, other
from certgen.wording.values import Numbers, amount, level_reading, limit, pieces, place, reading, slope
from certgen.wording.wording import Wording

Pointing = Literal["up", "down", "left", "right"]

# of the limit: what rounding of the arithmetic leaves of an error
_NOTHING_LEFT = 1e-9


@dataclass(frozen=True, slots=True)
class SheetStep:
    """One move: what to do at which bearing, which way the arrow points (downstream: right), how far.

    `shims` is empty where shims have no part in it; `watch` says what to look at and `stop` where to stop;
    `check` what a target shows that is zeroed again afterwards, empty where none is watched.
    """

    action: str
    pointing: Pointing
    bearing: str
    amount: str
    shims: str
    watch: str
    stop: str
    check: str = ""


@dataclass(frozen=True, slots=True)
class Remark:
    """What to know of a roll's move.

    `strong` where it will not do what it was meant to, `plain` where it is another way to do it.
    """

    text: str
    strong: bool = False
    plain: bool = False


@dataclass(frozen=True, slots=True)
class Blank:
    """A line to fill in: its title, and the labels of its gaps."""

    title: str
    gaps: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SheetRoll:
    """One roll that needs a move: the verdicts that say so, its steps, and remarks on each aspect.

    `bearings` are those that are moved: what is really done is written down for each. `blanks` are for the
    readings as left, and those of a roll that has to be read before anybody can say whether it needs a move.
    """

    id: str
    name: str
    verdicts: str
    steps: tuple[SheetStep, ...]
    bearings: tuple[str, ...]
    remarks: tuple[Remark, ...]
    blanks: tuple[Blank, ...] = ()


@dataclass(frozen=True, slots=True)
class Means:
    """What turns a plan into words: numbers in the units of the page, words, the sign of roll readings."""

    numbers: Numbers
    wording: Wording
    sign: float


def sheet_roll(plan: RollPlan, means: Means) -> SheetRoll:
    """Return the roll's part of the sheet: level before parallel, only what does not pass."""
    needed = [
        (name, aspect) for name in ASPECTS if (aspect := plan.aspect(name)) is not None and aspect.needed
    ]
    sides = dict.fromkeys(step.side for _, aspect in needed for step, _ in aspect.steps)
    word = means.wording.word
    return SheetRoll(
        id=plan.roll.id,
        name=plan.roll.name,
        verdicts=_verdicts(needed, means.wording),
        steps=tuple(_step(name, pair, means) for name, aspect in needed for pair in aspect.steps),
        bearings=tuple(word(side) for side in sides),
        remarks=tuple(remark for name, aspect in needed for remark in _remarks(name, aspect, means)),
    )


def _verdicts(needed: list[tuple[AspectName, AspectPlan]], wording: Wording) -> str:
    """What the last readings of the roll say, for each aspect that has to be moved."""
    texts = (
        wording.word(
            "sheet_verdict",
            round=wording.inline(plan.which),
            aspect=wording.inline(name),
            verdict=_marked(wording.word(plan.state.verdict), plan, wording),
        )
        for name, plan in needed
    )
    return wording.word("sheet_apart").join(texts)


def _marked(verdict: str, plan: AspectPlan, wording: Wording) -> str:
    return f"{verdict}, {wording.word('in_doubt')}" if plan.held else verdict


def _step(name: AspectName, pair: tuple[Step, Stop], means: Means) -> SheetStep:
    step, stop = pair
    forth = step.amount_mm > 0.0
    watch, at = _level_stop(step, stop, means) if name == "level" else _target_stop(step, stop, means)
    sign = 1.0 if name == "level" else means.sign
    up: Pointing = "up" if forth else "down"
    along: Pointing = "right" if forth else "left"
    keys = ("raise", "lower") if name == "level" else ("move_downstream", "move_upstream")
    return SheetStep(
        action=means.wording.word(keys[0] if forth else keys[1]),
        pointing=up if name == "level" else along,
        bearing=means.wording.word(step.side),
        amount=amount(means.numbers, step.amount_mm),
        shims=_shims(name, step, means),
        watch=watch,
        stop=at,
        check=_check(stop.laid or stop, sign, means) if at else "",
    )


def _shims(name: AspectName, step: Step, means: Means) -> str:
    word = means.wording.word
    if name == "parallel":
        return ""
    if step.amount_mm < 0.0:
        return word("shims_out")
    if step.shims is None:
        return ""
    if not step.shims.pieces_mm:
        return word("shims_none")
    left, short = amount(means.numbers, step.shims.residual_mm), step.shims.residual_mm > 0.0
    return word("shims_in", pieces=pieces(means.numbers, step.shims), left=left, short=short)


def _target_stop(step: Step, stop: Stop, means: Means) -> tuple[str, str]:
    if stop.target_mm is None:
        return "", ""
    start = _started(stop, means.sign, means)
    watch = means.wording.word("stop_target", **_ends(step, means), start=start)
    return watch, reading(means.numbers, means.sign * stop.target_mm)


def _started(stop: Stop, sign: float, means: Means) -> str:
    return "" if stop.start_mm is None else reading(means.numbers, sign * stop.start_mm)


def _check(stop: Stop, sign: float, means: Means) -> str:
    """What a target must show once it was zeroed again after the move; nothing where a level is watched."""
    if stop.level is not None or stop.again_mm is None:
        return ""
    return means.wording.word("stop_check", value=reading(means.numbers, sign * stop.again_mm))


def _level_stop(step: Step, stop: Stop, means: Means) -> tuple[str, str]:
    """The level where the roll was read with one, else the height of the far end: with shims, as they are."""
    word, numbers, laid = means.wording.word, means.numbers, stop.laid is not None
    if step.shims is not None and not step.shims.pieces_mm:
        return "", ""  # nothing is done, so there is nothing to watch
    shown = stop.laid or stop
    if shown.level is not None:
        watch = word("stop_level", at=place(numbers, shown.level.at_mm), laid=laid)
        return watch, level_reading(numbers, shown.level)
    if shown.target_mm is None:
        return "", ""
    watch = word("stop_height", **_ends(step, means), start=_started(stop, 1.0, means), laid=laid)
    return watch, reading(numbers, shown.target_mm)


def _ends(step: Step, means: Means) -> dict[str, str]:
    """The end at the turning bearing, where the target is zeroed, and the one it is watched on."""
    near, far = other(step.side), step.side
    return {"near": means.wording.word(near), "far": means.wording.word(far)}


def _remarks(name: AspectName, plan: AspectPlan, means: Means) -> Iterator[Remark]:
    """What U and travel forbid, what else would do, and what to expect."""
    word = means.wording.word
    aspect = word(name)
    if plan.hold is not None:
        yield Remark(_held(aspect, plan.hold, means), strong=True)
        return
    if not plan.can_pass:
        yield Remark(_never(aspect, plan, means), strong=True)
    if plan.limited:
        yield Remark(word("titled", title=aspect, text=_travel_remark(plan, means)), strong=True)
    if not plan.steps:
        yield Remark(word("sheet_no_room", aspect=aspect), strong=True)
    if plan.unchecked:
        lone = readings_text(plan.unchecked, means.wording)
        yield Remark(word("sheet_once_more", aspect=aspect, list=lone), strong=True)
    stops = any(stop.target_mm is not None or stop.laid is not None for _, stop in plan.steps)
    for way in plan.alternatives:
        remark = _alternative(name, way, stops, means)
        if remark:
            yield Remark(word("titled", title=aspect, text=remark), plain=way.way == "split")
    yield Remark(_expected(aspect, plan, means), strong=plan.predicted.verdict != "pass")


def _held(aspect: str, hold: Hold, means: Means) -> str:
    """What to read again before anything is moved; the roll itself where no single reading stands out."""
    word = means.wording.word
    if hold.doubts:
        return word("sheet_held", aspect=aspect, list=read_again_text(hold, means.wording))
    factor = means.wording.digits.fixed(hold.too_large or 1.0, 1)
    return word("sheet_held_whole", aspect=aspect, factor=factor)


def _expected(aspect: str, plan: AspectPlan, means: Means) -> str:
    word, numbers, after = means.wording.word, means.numbers, plan.predicted
    return word(
        "sheet_expected",
        aspect=aspect,
        error=slope(numbers, after.error_mm_per_m),
        expanded=slope(numbers, after.U_mm_per_m, signed=False),
        verdict=word(after.verdict),
    )


def _never(aspect: str, plan: AspectPlan, means: Means) -> str:
    """No move can make it pass, and why."""
    word, numbers, state = means.wording.word, means.numbers, plan.state
    return word(
        "sheet_never",
        aspect=aspect,
        expanded=slope(numbers, state.U_mm_per_m, signed=False),
        limit=limit(numbers, state.limit_mm_per_m),
    )


def _travel_remark(plan: AspectPlan, means: Means) -> str:
    """How much of the move there is room for at the bearing it was meant for."""
    move = plan.move
    room = plan.rooms[move.side].within(move.amount_mm)
    elsewhere = [step for step, _ in plan.steps if step.side != move.side]
    left = elsewhere[-1].aim_mm_per_m - plan.state.target_mm_per_m if elsewhere else 0.0
    return means.wording.word(
        "travel_limits",
        bearing=means.wording.word(move.side),
        wanted=amount(means.numbers, move.amount_mm),
        room=amount(means.numbers, room),
        both=bool(elsewhere),
        all=abs(left) <= _NOTHING_LEFT * plan.state.limit_mm_per_m,
    )


def _alternative(name: AspectName, way: Alternative, stops: bool, means: Means) -> str:
    """What else would do; where `stops`, the step at one bearing ends at readings that hold for it alone."""
    word, numbers = means.wording.word, means.numbers
    if way.way == "raise_only" and way.moves_mm is None:
        return word("raise_only_not")
    if way.way != "split" or way.moves_mm is None or not way.fits:
        return ""
    operator, drive = (reading(numbers, moved) for moved in way.moves_mm)
    up = word("up" if name == "level" else "downstream")
    return word("split_instead", operator=operator, drive=drive, way=up, stop=stops)
