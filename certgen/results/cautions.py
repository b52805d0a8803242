"""What a contractor should know before issuing: contradictions, verdicts that can never pass, residuals."""

import re
from collections.abc import Iterator, Mapping

from certgen.assessment.assessment import ASPECTS, Assessment, Measured
from certgen.assessment.web_limit import web_margins
from certgen.findings import Finding, Place
from certgen.moves.after_moves import disagreements
from certgen.network.causes import Cause
from certgen.network.equations import Label
from certgen.network.quality import LOW_P, Named
from certgen.network.reliability import seating_of
from certgen.network.solution import Solution
from certgen.network.suspects import Candidate
from certgen.results.network_results import unit_of_size

_CAUSES: Mapping[Cause, str] = {
    "ends or sign": "swapped ends or a lost sign",
    "sign": "a lost sign",
    "unit": "a slipped unit (inch and millimetre)",
    "decimal": "a slipped decimal",
}
# the end of the path of a reading that is one of a list
_LISTED = re.compile(r"\[(\d+)\]$")
_UNITS = {"mm": "mm", "mm_per_m": "mm/m"}


def contradictions(solution: Solution) -> Iterator[Finding]:
    """Yield a warning for every suspect, at the place of the reading that has a cause, or the most likely."""
    for name in ASPECTS:
        aspect = solution.aspect(name)
        for named in () if aspect is None else aspect.quality.named:
            if named.suspect.candidates:
                yield _finding(solution, named)


def _finding(solution: Solution, named: Named) -> Finding:
    first, *rest = named.suspect.candidates
    # every candidate with its cause in words, those that moved without: what happened is what they are
    caused = [
        pair
        for pair in (
            (one, None if cause is None else _CAUSES.get(cause))
            for one, cause in zip(named.suspect.candidates, named.causes, strict=True)
        )
        if pair[1] is not None
    ]
    where = (caused[0][0] if caused else first).readings[0].where or "uncertainty"
    size = f"{abs(first.blunder):.3g} {_UNITS[unit_of_size(first)]}"
    message = f"{event_text(first)} contradicts the other readings by {size} (w = {first.w:.1f})"
    if rest:
        message += f"; it may as well be {' or '.join(map(event_text, rest))}"
    looks = "; ".join(f"{event_text(one)}: {cause} would explain it" for one, cause in caused)
    hint = "Correct what was written down wrongly, or read it again; what is wrong for good, `exclude`."
    hint = f"{looks}. {hint}" if looks else hint
    place = solution.survey.places.get(where, Place(1, 1))
    return Finding("warning", place, where, message, hint)


def event_text(one: Candidate) -> str:
    """Return what may have happened: a reading by its place, a monument or a setup that moved."""
    label = seating_of(one.readings[0]) if one.kind == "seating" else one.readings[0]
    if one.kind == "setup moved":
        return f"setup {label.setup} (turned between its rounds)"
    if one.kind == "monument moved":
        return f"monument {label.monument} (moved {_between(one)})"
    moved = f" (or moved {_between(one)})" if "monument moved" in one.kinds else ""
    return f"{_reading(label)}{moved}"


def _between(one: Candidate) -> str:
    before, after = one.between or (None, None)
    if before is None:
        return f"before setup {after}"
    return f"during setup {after}" if before == after else f"between setups {before} and {after}"


def _reading(label: Label) -> str:
    if label.source == "prior":
        return f"the stated {str(label.side).replace('_', ' ')}"
    what = label.roll or f"monument {label.monument}"
    which = () if label.round is None else (label.round.replace("_", " "),)
    side = () if label.side is None or label.source in {"roll", "height"} else (label.side,)
    setup = f" in setup {label.setup}" if label.setup is not None else ""
    again = _LISTED.search(label.where)
    number = "" if again is None else f" (reading {int(again[1]) + 1})"
    return f"{' '.join((what, *side, *which))}{number}{setup}"


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
