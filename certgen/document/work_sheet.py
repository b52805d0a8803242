"""What the crew's work sheet says, as plain records: every word and number in place, nothing drawn yet."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import groupby

from markupsafe import Markup

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment, Missing
from certgen.document.survey_facts import dates_of_work
from certgen.document.work_sheet_roll import Blank, Means, SheetRoll, sheet_roll
from certgen.moves.after_moves import Apart, Witness, still_apart, witness
from certgen.moves.plan import RollPlan, plan_of
from certgen.moves.steps import SIDES, Step, other
from certgen.survey.survey import ROUNDS, Roll, Survey
from certgen.wording.rounding import Digits
from certgen.wording.values import joined, numbers_for, place, reading
from certgen.wording.wording import Wording

# of the survey's SHA-256: enough to tell the sheets of one certificate apart, few enough to read out
_SHEET_DIGITS = 8


@dataclass(frozen=True, slots=True)
class SheetGroup:
    """The rolls to move that one setting of the laser saw last; `title` names it.

    `note` says what to mind, a subject a line.
    """

    title: str
    note: str
    rolls: tuple[SheetRoll, ...]


@dataclass(frozen=True, slots=True)
class WorkSheet:
    """The whole sheet: what it is, the safety notes, the rolls to move, and what is left alone.

    `identification` and `end` name the certificate and the sheet, this by the first digits of the survey's
    SHA-256. `nothing` is said where no roll is to be moved. `attached` says which files travel inside its
    PDF.
    """

    title: str
    identification: str
    subtitle: str
    contractor: str
    safety: tuple[Markup, ...]
    groups: tuple[SheetGroup, ...]
    nothing: str
    rest: tuple[str, ...]
    end: str
    attached: tuple[str, ...] = ()


def work_sheet(assessment: Assessment, wording: Wording) -> WorkSheet:
    """Return the plan of moves in the words and units of the certificate: rolls that need a move first."""
    survey, head = assessment.survey, assessment.survey.certificate
    numbers, moving = numbers_for(survey, wording.digits), plan_of(assessment).moving
    count = wording.word("sheet_count", moving=len(moving), rolls=len(survey.rolls))
    if held := sum(plan.held for plan in moving):
        count = f"{count}, {wording.word('sheet_count_held', held=held)}"
    if first := len({one.roll for one in plan_of(assessment).unread}):
        count = f"{count}, {wording.word('sheet_count_unread', unread=first)}"
    groups = (
        *_unread(assessment, wording),
        *_groups(assessment, Means(numbers, wording, survey.positive.roll_sign)),
    )
    sheet = survey.sha256[:_SHEET_DIGITS]
    return WorkSheet(
        title=wording.word("sheet_title"),
        identification=wording.word("sheet_number", number=head.number, revision=head.revision, sheet=sheet),
        subtitle=f"{survey.line.name}. {count}. {_origin(assessment, wording)}",
        contractor=survey.contractor.name,
        safety=wording.paragraphs("moving_safety"),
        groups=groups,
        nothing="" if groups else _nothing(assessment, wording),
        rest=tuple(_rest(assessment, wording)),
        end=wording.word("sheet_end", number=head.number, revision=head.revision, sheet=sheet),
    )


def _origin(assessment: Assessment, wording: Wording) -> str:
    """Of which days and rounds the readings are that the moves come from.

    Two sheets of one shift look alike otherwise: moves made after the first have other readings.
    """
    needed = [plan for roll in plan_of(assessment).moving for plan in (roll.level, roll.parallel)]
    which = {plan.which for plan in needed if plan is not None and plan.to_move}
    rounds = [wording.inline(one) for one in ROUNDS if one in which]
    days = dates_of_work(assessment.survey, wording)
    return wording.word("sheet_from", days=days, rounds=wording.word("between_clauses").join(rounds))


def _unread(assessment: Assessment, wording: Wording) -> Iterator[SheetGroup]:
    """The rolls that no reading tells of as they stand now, with lines for the readings; none if all were."""
    found: dict[str, list[Missing]] = {}
    for one in plan_of(assessment).unread:
        found.setdefault(one.roll, []).append(one)
    if found:
        names = {roll.id: roll.name for roll in assessment.survey.rolls}
        rolls = tuple(
            SheetRoll(
                id=roll,
                name=names[roll],
                verdicts=wording.word("sheet_apart").join(_lacking(one, wording) for one in missing),
                steps=(),
                bearings=(),
                remarks=(),
                blanks=tuple(_blank(assessment.survey, one.aspect, wording) for one in missing),
            )
            for roll, missing in found.items()
        )
        yield SheetGroup(wording.word("sheet_read_first"), wording.word("sheet_read_first_note"), rolls)


def _lacking(missing: Missing, wording: Wording) -> str:
    reason = "" if missing.reason is None else wording.word(f"reason {missing.reason}")
    return wording.word("titled", title=wording.word(missing.aspect), text=reason)


def _blank(survey: Survey, name: AspectName, wording: Wording) -> Blank:
    """A line for the reading: of both ends with the laser or over a level plane, or of the level."""
    with_level = name == "level" and (survey.level is None or bool(survey.level.slopes))
    ends = ("sheet_read_level", "sheet_read_reversed") if with_level else ("operator", "drive")
    last = ("sheet_done_by", "sheet_done_time")
    keys = (*ends, *last) if name == "level" else (*ends, "setup", *last)
    gaps = tuple(wording.inline(key) if key == "setup" else wording.word(key) for key in keys)
    return Blank(wording.word(name), gaps)


def _groups(assessment: Assessment, means: Means) -> Iterator[SheetGroup]:
    """By the setup that saw the rolls last, in the order of the setups; those without one come first."""
    word = means.wording.word
    order = [None, *(setup.id for setup in assessment.survey.setups)]
    moving = sorted(plan_of(assessment).moving, key=lambda plan: order.index(plan.setup))
    for setup, members in groupby(moving, key=lambda plan: plan.setup):
        rolls = list(members)
        if setup is None:
            title, staying = word("sheet_no_setup"), None
        else:
            title, staying = word("sheet_setup", setup=setup), witness(assessment, setup)
        note = "\n".join(_group_note(assessment, rolls, staying, means))
        yield SheetGroup(title, note, tuple(_to_fill_in(assessment.survey, plan, means) for plan in rolls))


def _to_fill_in(survey: Survey, plan: RollPlan, means: Means) -> SheetRoll:
    """The roll with lines for the readings as left where it moves: any move may change both aspects."""
    found, word = sheet_roll(plan, means), means.wording.word
    if not found.steps:
        return found
    blanks = (
        replace(one, title=word("titled", title=word("as_left"), text=means.wording.inline(name)))
        for name in ASPECTS
        if plan.aspect(name) is not None
        for one in [_blank(survey, name, means.wording)]
    )
    return replace(found, blanks=tuple(blanks))


def _group_note(
    assessment: Assessment, rolls: list[RollPlan], staying: Witness | None, means: Means
) -> Iterator[str]:
    """When to zero the target, where it stands, what its signs mean, what to do if the laser was set up anew.

    Nothing where no target is watched: laser and level plane have signs of their own.
    """
    word = means.wording.word
    across = [plan for plan in rolls if _laser_steps(plan)]
    heights = [plan for plan in rolls if _height_steps(plan)]
    if not across and not heights:
        return
    yield word("sheet_zero_note")
    watched = [plan.roll for plan in rolls if plan in across or plan in heights]
    yield _places([*watched, *([staying.roll] if across and staying is not None else [])], means)
    if across:
        lies = word(f"lies {assessment.survey.positive.roll}")
        yield word("sheet_setup_note", setup=rolls[0].setup, positive=lies)
    if heights:
        yield word("sheet_height_note")
    if across:
        yield _set_anew(across, staying, means)


def _laser_steps(plan: RollPlan) -> list[Step]:
    aspect = plan.parallel
    return [] if aspect is None or not aspect.to_move else [step for step, _ in aspect.steps]


def _height_steps(plan: RollPlan) -> list[Step]:
    """The steps for which a target is watched over a level plane."""
    aspect = plan.level
    if aspect is None or not aspect.to_move:
        return []
    return [step for step, stop in aspect.steps if stop.target_mm is not None and stop.level is None]


def _places(rolls: list[Roll], means: Means) -> str:
    """Where the targets stand along the rolls: once where it is the same on all of them, else by roll."""
    by_place: dict[str, list[str]] = {}
    for roll in rolls:
        if roll.targets_mm is not None:
            ends = (place(means.numbers, along) for along in roll.targets_mm)
            text = means.wording.word("sheet_place", **dict(zip(SIDES, ends, strict=True)))
            by_place.setdefault(text, []).append(roll.id)
    word = means.wording.word
    listed = (
        text if len(by_place) == 1 else word("titled", title=joined(dict.fromkeys(ids)), text=text)
        for text, ids in by_place.items()
    )
    return word("sheet_places", list=word("sheet_apart").join(listed))


def _set_anew(rolls: list[RollPlan], staying: Witness | None, means: Means) -> str:
    """What to add to the stop readings, by the side that is zeroed and the distance between the targets.

    Heights take nothing: the plane is taken as level wherever the laser stands.
    """
    word, numbers = means.wording.word, means.numbers
    if staying is None:
        return word("sheet_reset_none")
    zeroed = {other(step.side) for plan in rolls for step in _laser_steps(plan)}
    values = [
        word(
            "sheet_reset_value",
            roll=staying.roll.id,
            side=word(side),
            far=word(other(side)),
            value=reading(numbers, means.sign * staying.shown_mm[side]),
        )
        for side in SIDES
        if side in zeroed
    ]
    return word(
        "sheet_reset",
        roll=staying.roll.id,
        values=" ".join(values),
        factors="".join(
            word("sheet_reset_factor", rolls=joined(ids), factor=factor)
            for factor, ids in _factors(rolls, staying, means.wording.digits).items()
        ),
    )


def _factors(rolls: list[RollPlan], staying: Witness, digits: Digits) -> dict[str, list[str]]:
    """The rolls whose targets stand at another distance than those of the roll that stays, by the ratio."""
    found: dict[str, list[str]] = {}
    for plan in rolls:
        found.setdefault(digits.fixed(staying.factor(plan.roll), 3), []).append(plan.roll.id)
    found.pop(digits.fixed(1.0, 3), None)
    return found


def _nothing(assessment: Assessment, wording: Wording) -> str:
    """That no roll needs a move, only where that is so of all; else that there is none to make."""
    plan = plan_of(assessment)
    open_ = plan.not_adjustable or plan.no_room
    return wording.word("sheet_none" if open_ else "sheet_nothing")


def _rest(assessment: Assessment, wording: Wording) -> Iterator[str]:
    """What is left alone, and what is outside tolerance and yet no move is planned for."""
    plan = plan_of(assessment)
    if plan.left_alone:
        yield wording.word("sheet_leave", list=joined(plan.left_alone))
    moving = {one.roll.id for one in plan.moving}  # whose own remarks say what has no room
    stuck = {roll: names for roll, names in plan.no_room.items() if roll not in moving}
    for key, rolls in (("sheet_fixed", plan.not_adjustable), ("sheet_stuck", stuck)):
        if rolls:
            texts = (
                f"{roll} ({joined(wording.inline(name) for name in names)})" for roll, names in rolls.items()
            )
            yield wording.word(key, list=joined(texts))
    pairs = [_pair(one, wording) for one in still_apart(assessment)]
    if pairs:
        yield wording.word("sheet_pairs", list=wording.word("sheet_apart").join(pairs))


def _pair(pair: Apart, wording: Wording) -> str:
    return wording.word(
        "sheet_pair",
        first=pair.first,
        second=pair.second,
        aspect=wording.inline(pair.aspect),
        help=f" {wording.word('or')} ".join(pair.helped_by),
    )
