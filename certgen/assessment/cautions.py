"""What a contractor should know before issuing: verdicts that can never pass, residuals that do not fit."""

from collections.abc import Iterator

from certgen.assessment.adjustment_check import disagreements
from certgen.assessment.assessment import ASPECTS, Assessment, Measured
from certgen.assessment.contradictions import contradictions
from certgen.assessment.web import web_margins
from certgen.engine.quality import LOW_P
from certgen.findings import Finding, Place


def cautions(assessment: Assessment) -> tuple[Finding, ...]:
    """Return warnings on an assessment; none of them refuses it."""
    return (
        *_never_pass(assessment),
        *_poor_fit(assessment),
        *contradictions(assessment.solution),
        *disagreements(assessment),
        *_slack(assessment),
    )


def _never_pass(assessment: Assessment) -> Iterator[Finding]:
    """Under guarded acceptance a roll with U at or above its limit fails whatever it reads."""
    if assessment.survey.decision != "guarded":
        return
    for index, roll in enumerate(assessment.rolls):
        for name in ASPECTS:
            state = roll.aspect(name).standing
            if (
                state is not None
                and state.verdict != "reference"
                and state.U_mm_per_m >= state.limit_mm_per_m
            ):
                yield _wide(assessment, f"rolls[{index}]", f"{roll.id} {name}", state)


def _wide(assessment: Assessment, where: str, what: str, state: Measured) -> Finding:
    expanded, limit = state.U_mm_per_m, state.limit_mm_per_m
    message = f"{what} can never pass: U is {expanded:.4f} mm/m and the limit {limit:.4f} mm/m"
    hint = "Read with less uncertainty, agree on a wider tolerance, or agree on another decision rule."
    return Finding("warning", _place(assessment, where), where, message, hint)


def _poor_fit(assessment: Assessment) -> Iterator[Finding]:
    solution = assessment.solution
    for name, aspect, where in (
        ("level", solution.level, "level"),
        ("parallel", solution.parallel, "setups"),
    ):
        if aspect is not None and aspect.quality.p_value is not None and aspect.quality.p_value < LOW_P:
            message = (
                f"the {name} residuals are larger than stated (p {_probability(aspect.quality.p_value)})"
            )
            hint = "Look for a wrong reading (certgen solve names suspects) or a larger uncertainty."
            yield Finding("warning", _place(assessment, where), where, message, hint)


def _probability(p: float) -> str:
    """A probability is never nothing: below 0.001 only that is said."""
    return "< 0.001" if p < 0.001 else f"= {p:.2g}"


def _slack(assessment: Assessment) -> Iterator[Finding]:
    """A limit beyond the slope at which one edge of the web goes slack guards nothing."""
    indices = {roll.id: index for index, roll in enumerate(assessment.survey.rolls)}
    for margin in web_margins(assessment.survey):
        if margin.limit_ratio is not None and margin.limit_ratio > 1.0:
            where = f"rolls[{indices[margin.roll]}]"
            times = f"{margin.limit_ratio:.1f} times the slope at which one edge of the web goes slack"
            message = f"the limit for parallel of {margin.roll} is {times}"
            hint = "Check the limit, and tension, modulus, thickness and spans in `web:`."
            yield Finding("warning", _place(assessment, where), where, message, hint)


def _place(assessment: Assessment, where: str) -> Place:
    return assessment.survey.places.get(where, Place(1, 1))
