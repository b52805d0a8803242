"""What the last readings still call for: moves within travel and shims, and what they would leave."""

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment
from certgen.assessment.plan import AspectPlan
from certgen.certificate.content import Column, Table
from certgen.certificate.crew_numbers import pieces, reading
from certgen.certificate.numbers import Numbers
from certgen.certificate.rounding import NOTHING
from certgen.certificate.wording import Wording
from certgen.engine.steps import Step


def planned_table(assessment: Assessment, numbers: Numbers, wording: Wording) -> Table | None:
    """Return the plan for every roll that does not pass as it was left; None where all do."""
    needed = [
        (plan.roll.id, name, aspect)
        for plan in assessment.plan.rolls
        for name in ASPECTS
        if (aspect := plan.aspect(name)) is not None and aspect.needed
    ]
    if not needed:
        return None
    keys = (("planned_error", 1.0), ("expanded", 0.8))
    return Table(
        caption=wording.word("planned"),
        columns=(
            Column(wording.word("roll"), "left", share=0.6),
            Column(wording.word("aspect"), "left", share=1.1),
            Column(wording.word("planned_moves"), "left", share=4.0),
            *(Column(wording.word(key), share=share, unit=numbers.slope_signs()) for key, share in keys),
            Column(wording.word("planned_verdict"), "left", share=1.1),
        ),
        rows=tuple((roll, *_cells(name, aspect, numbers, wording)) for roll, name, aspect in needed),
        note=wording.word("planned_note", slope=numbers.slope_signs()),
    )


def _cells(name: AspectName, plan: AspectPlan, numbers: Numbers, wording: Wording) -> tuple[str, ...]:
    if plan.held:
        return wording.word(name), wording.word("held_back"), *[NOTHING] * 3
    after = numbers.state(plan.predicted)
    verdict = wording.word(plan.predicted.verdict)
    return wording.word(name), _moves(plan, numbers, wording), after.error, after.expanded, verdict


def _moves(plan: AspectPlan, numbers: Numbers, wording: Wording) -> str:
    """Each step with its shims, and whether travel cuts the move short."""
    texts = [_step(step, numbers, wording) for step, _ in plan.steps] or [wording.word("nothing_fits")]
    if plan.limited:
        texts.append(wording.word("travel_short", wanted=reading(numbers, plan.move.amount_mm)))
    return wording.word("between_clauses").join(texts)


def _step(step: Step, numbers: Numbers, wording: Wording) -> str:
    moved = f"{wording.word(step.side)} {reading(numbers, step.amount_mm)}"
    if step.shims is None or not step.shims.pieces_mm:
        return moved
    return f"{moved}, {wording.inline('shims')} {pieces(numbers, step.shims)}"
