"""What page one says in sentences: what remains, who decides, when again, how sure and how well proven."""

from collections.abc import Iterator

from scipy.special import ndtr

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment
from certgen.document.content import Statements, Text
from certgen.document.line_status import judged_in, missing_names, pairs_short
from certgen.document.survey_facts import reference_text, tolerances
from certgen.moves.after_moves import adjustment_checks
from certgen.moves.plan import AspectPlan, plan_of
from certgen.network.solution import set_aside
from certgen.survey.edition import FIRST
from certgen.survey.survey import ROUNDS, Round
from certgen.wording.rounding import risk_percents
from certgen.wording.values import amount, direction, first_of, joined, numbers_for
from certgen.wording.wording import Wording

_MOST_MOVES = 6  # that are said in full; the section on moves has all
Pair = tuple[str, Text]


def statements(
    assessment: Assessment, wording: Wording, *, unmoved: bool, annexes: str
) -> tuple[Statements, Statements]:
    """Return what calls for a decision, which stands before the drawing, and what backs the verdicts."""
    first = (
        *_what_remains(assessment, wording),
        (wording.word("say_running"), _running(assessment, wording)),
        *_survey_again(assessment, wording),
    )
    later = (
        *_not_measured(assessment, wording),
        *(_not_moved(assessment, wording) if unmoved else ()),
        (wording.word("say_limits"), _limits(assessment, wording)),
        (wording.word("say_sure"), _how_sure(assessment, wording)),
        (wording.word("say_proof"), _proof(assessment, wording)),
        *_revision(assessment, wording),
        *([(wording.word("say_annexes"), annexes)] if annexes else []),
    )
    return Statements(first), Statements(later)


def _what_remains(assessment: Assessment, wording: Wording) -> Iterator[Pair]:
    """Of each roll that does not pass as left: the move to its target, and how far travel lets it go."""
    plan, texts = plan_of(assessment), []
    for one in plan.rolls:
        for name in ASPECTS:
            of = one.aspect(name)
            if of is not None and of.needed:
                texts.append(_remaining(one.roll.id, name, of, assessment, wording))
    fixed = joined(
        f"{roll} ({joined(wording.inline(name) for name in names)})"
        for roll, names in plan.not_adjustable.items()
    )
    texts += [wording.word("sheet_fixed", list=fixed)] if fixed else []
    more = len(texts) - _MOST_MOVES
    if more > 1:
        section = wording.word("section_moves")
        texts = [*texts[:_MOST_MOVES], wording.word("remain_more", more=more, section=section)]
    pairs = pairs_short(judged_in(assessment, assessment.last_round))
    texts += [wording.word("remain_pairs", list=first_of(pairs, wording))] if pairs else []
    if texts:
        yield wording.word("say_remains"), " ".join(texts)


def _remaining(
    roll: str, name: AspectName, plan: AspectPlan, assessment: Assessment, wording: Wording
) -> str:
    numbers = numbers_for(assessment.survey, wording.digits)
    move, done = plan.move.amount_mm, [step for step, _ in plan.steps if step.side == plan.move.side]
    return wording.word(
        "remain_held" if plan.held else "remain_move",
        roll=roll,
        aspect=wording.inline(name),
        side=wording.word(plan.move.side),
        amount=amount(numbers, move),
        way=direction(name, move, wording),
        limited=plan.limited,
        room=amount(numbers, done[0].amount_mm) if done else amount(numbers, 0.0),
        verdict=wording.word(plan.predicted.verdict),
        never=not plan.can_pass,
    )


def _running(assessment: Assessment, wording: Wording) -> str:
    """What stands against the line, as far as it was measured; to release it is the plant's decision."""
    last, texts = assessment.last_round, []
    judged = judged_in(assessment, last)
    outside = [roll.id for roll in judged.short if judged.beyond(roll)]
    others = [roll.id for roll in judged.short if not judged.beyond(roll)]
    if assessment.in_doubt:
        texts.append(wording.word("running_doubt"))
    if outside:
        texts.append(wording.word("running_outside", list=first_of(outside, wording)))
    if others:
        texts.append(wording.word("running_not_shown", list=first_of(others, wording)))
    if not judged.short and pairs_short(judged):
        texts.append(wording.word("running_pairs"))
    if assessment.unread:
        names = missing_names(((one.roll, one.aspect) for one in assessment.unread), wording)
        texts.append(wording.word("running_unread", list=first_of(names, wording)))
    if not texts and assessment.overall[last] in {"pass", "conditional pass"}:
        texts.append(wording.word("running_pass"))
    return " ".join((*texts, wording.word("running_release")))


def _survey_again(assessment: Assessment, wording: Wording) -> Iterator[Pair]:
    """Only what the contractor advises; nothing is made up here."""
    visit = assessment.survey.visit
    if visit.next_by is not None:
        day, why = wording.date(visit.next_by), visit.next_why or ""
        yield wording.word("say_again"), wording.word("again_by", day=day, why=why)


def _not_measured(assessment: Assessment, wording: Wording) -> Iterator[Pair]:
    texts = tuple(_missing(assessment, wording))
    if texts:
        yield wording.word("say_not_measured"), " ".join(texts)


def _missing(assessment: Assessment, wording: Wording) -> Iterator[str]:
    """What was not measured in each round and why, once where both lack the same."""
    if assessment.survey.edition == FIRST:
        missing = [f"{one.roll} ({wording.inline(one.aspect)})" for one in assessment.unread]
        if missing:
            yield wording.word("not_measured_note", list=joined(missing))
        return
    found, left = (assessment.missing[which] for which in ROUNDS)
    if left and left == found:
        yield wording.word("not_measured_note", list=_with_reasons(assessment, "as_left", wording))
    else:
        for which in ROUNDS:
            if assessment.missing[which]:
                listed = _with_reasons(assessment, which, wording)
                yield wording.word("not_measured_round", round=wording.inline(which), list=listed)
    for which in ROUNDS:
        if which not in assessment.surveyed:
            yield wording.word(f"nothing_{which}_note")


def _with_reasons(assessment: Assessment, which: Round, wording: Wording) -> str:
    by_reason: dict[str, list[tuple[str, AspectName]]] = {}
    for one in assessment.missing[which]:
        by_reason.setdefault(one.reason or "", []).append((one.roll, one.aspect))
    return wording.word("between_clauses").join(
        f"{joined(missing_names(listed, wording))} ({wording.word(f'reason {reason}')})"
        for reason, listed in by_reason.items()
    )


def _not_moved(assessment: Assessment, wording: Wording) -> Iterator[Pair]:
    """The rolls whose values found stand as left; nothing of it where there was only one round."""
    unmoved = []
    for roll in assessment.rolls:
        names = [
            name
            for name in ASPECTS
            if (aspect := roll.aspect(name)).as_left is not None
            and not aspect.adjusted
            and aspect.verdict("as_left") != "reference"
        ]
        both = all(roll.aspect(name).as_left is None or name in names for name in ASPECTS)
        if names:
            said = joined(wording.inline(name) for name in names)
            unmoved.append(roll.id if both else f"{roll.id} ({said})")
    if unmoved:
        yield (
            wording.word("say_not_moved"),
            wording.word("not_adjusted_note", list=first_of(unmoved, wording)),
        )


def _limits(assessment: Assessment, wording: Wording) -> str:
    """The tolerances as the order states them, the reference and the rule."""
    survey, apart = assessment.survey, wording.word("between_clauses")
    texts = (
        wording.word("titled", title=wording.word(name), text=text)
        for name, text in tolerances(survey, wording)
    )
    parallel = any(roll.parallel_limit is not None for roll in survey.rolls)
    reference = wording.word(
        "titled", title=wording.word("reference_label"), text=reference_text(survey, wording)
    )
    rule = wording.word("titled", title=wording.word("decision_rule"), text=wording.word(survey.decision))
    return apart.join((*texts, *((reference,) if parallel else ()), rule))


def _how_sure(assessment: Assessment, wording: Wording) -> str:
    """What U and the decision rule mean in a sentence each; how probable it is that all passes conform."""
    survey, digits = assessment.survey, wording.digits
    coverage = survey.uncertainty.coverage
    probability = None if coverage.probability is None else digits.plain(100.0 * coverage.probability, 2)
    k = digits.plain(assessment.coverage_factor, 3)
    risk = digits.percent(float(ndtr(-assessment.coverage_factor)))
    texts = [
        wording.word("sure_u", k=k, probability=probability),
        wording.word(f"sure_{survey.decision}", risk=risk),
    ]
    passes = assessment.passes.get(assessment.last_round)
    if passes is not None and passes.count > 1:
        conform = digits.written(risk_percents(passes.any_outside)[1])
        texts.append(wording.word("sure_all", count=passes.count, p=conform))
        if assessment.in_doubt:
            texts.append(wording.word("all_conform_doubt"))
    return " ".join(texts)


def _proof(assessment: Assessment, wording: Wording) -> str:
    """How far the readings check each other, what was set aside, whether moves and changes agree."""
    aspects = [one for name in ASPECTS if (one := assessment.solution.aspect(name)) is not None]
    readings = sum(one.quality.readings for one in aspects)
    checked = readings - sum(len(one.quality.unchecked) for one in aspects)
    named = sum(len(one.quality.named) for one in aspects)
    aside = len(set_aside(assessment.survey))
    texts = [wording.word("proof_checked", checked=checked, readings=readings, named=named)]
    texts += [wording.word("proof_aside", count=aside)] if aside else []
    agree = [
        check.result == "agrees"
        for index in range(len(assessment.rolls))
        for check in adjustment_checks(assessment, index).values()
        if any(check.reported_mm)
    ]
    if agree:
        texts.append(wording.word("proof_moves", agree=sum(agree), moves=len(agree)))
    return " ".join(texts)


def _revision(assessment: Assessment, wording: Wording) -> Iterator[Pair]:
    """What this certificate replaces, and why (ISO/IEC 17025:2017, 7.8.8)."""
    head = assessment.survey.certificate
    if head.supersedes is not None:
        text = wording.word("revision_text", supersedes=head.supersedes, reason=head.reason or "")
        yield wording.word("supersedes"), text
