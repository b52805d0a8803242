"""What the crew reported to have moved, against what was measured as found and as left. Slopes in mm/m.

Predicted as left = as found + effect of the reported moves. The uncertainty of the difference is that of as
left minus as found, in which what both share cancels; that of the reported figures themselves is not stated
in a survey and not in it.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment, RollAspect
from certgen.assessment.plan import DIRECTIONS
from certgen.engine.steps import effect_mm_per_m
from certgen.engine.travel import SIDES, reported_mm
from certgen.findings import Finding, Place
from certgen.survey.survey import Roll, Survey

Agreement = Literal["agrees", "differs"]

# as for verdicts: a difference of exactly U agrees in inches as in millimetres
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class AdjustmentCheck:
    """One aspect of one roll: the slope the reported moves predict, the one measured, their difference.

    `reported_mm` are the moves (operator, drive), up for level and downstream for parallel, 0 where none was
    reported. `difference_mm_per_m` is measured minus predicted.
    """

    reported_mm: tuple[float, float]
    predicted_mm_per_m: float
    measured_mm_per_m: float
    difference_mm_per_m: float
    u_mm_per_m: float
    U_mm_per_m: float
    result: Agreement


def adjustment_checks(assessment: Assessment, index: int) -> Mapping[AspectName, AdjustmentCheck]:
    """Return the checks of one roll with reported moves, by aspect: those that were read in both rounds."""
    survey, roll = assessment.survey, assessment.survey.rolls[index]
    if all(made.roll != roll.id for made in survey.adjustments):
        return {}
    found = {name: _check(survey, roll, name, assessment.rolls[index].aspect(name)) for name in ASPECTS}
    return {name: check for name, check in found.items() if check is not None}


def disagreements(assessment: Assessment) -> Iterator[Finding]:
    """Yield a warning for every roll whose reported moves differ from what was measured."""
    places = assessment.survey.places
    first = {
        made.roll: f"adjustments[{i}]" for i, made in reversed(list(enumerate(assessment.survey.adjustments)))
    }
    for index, result in enumerate(assessment.rolls):
        for name, check in adjustment_checks(assessment, index).items():
            if check.result == "differs":
                size, most = abs(check.difference_mm_per_m), check.U_mm_per_m
                message = f"{result.id} {name}: what was reported differs from what was measured"
                message += f" by {size:.4f} mm/m, and U is {most:.4f} mm/m"
                hint = (
                    "Look for a move that was not reported, a wrong sign, or a bearing that has slipped back."
                )
                where = first[result.id]
                yield Finding("warning", places.get(where, Place(1, 1)), where, message, hint)


def _check(survey: Survey, roll: Roll, name: AspectName, aspect: RollAspect) -> AdjustmentCheck | None:
    before, after, change = aspect.as_found, aspect.as_left, aspect.change
    if before is None or after is None or change is None:
        return None
    operator, drive = (reported_mm(survey, roll.id, side, DIRECTIONS[name]) for side in SIDES)
    effect = sum(
        effect_mm_per_m(side, moved, roll.bearings_mm)
        for side, moved in zip(SIDES, (operator, drive), strict=True)
    )
    difference = change.slope_mm_per_m - effect
    agrees = abs(difference) <= change.U_mm_per_m + _ROUNDING * after.limit_mm_per_m
    return AdjustmentCheck(
        reported_mm=(operator, drive),
        predicted_mm_per_m=before.slope_mm_per_m + effect,
        measured_mm_per_m=after.slope_mm_per_m,
        difference_mm_per_m=difference,
        u_mm_per_m=change.u_mm_per_m,
        U_mm_per_m=change.U_mm_per_m,
        result="agrees" if agrees else "differs",
    )
