"""What the crew reported to have moved, against what was measured as found and as left. Slopes in mm/m.

Predicted as left = as found + effect of the reported moves. The uncertainty of the difference is that of as
left minus as found, in which what both share cancels, and that with which each move was read, where the
adjustment states its `read_to`: a move is the difference of two read-outs, before and after, each off by half
of the smallest step at most, so that u = step/√6 (JCGM 100:2008, F.2.2.1). Where it does not, nothing is
assumed for it, and exact agreement is not to be expected.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import hypot, sqrt
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
    reported. `difference_mm_per_m` is measured minus predicted. `u_moves_mm_per_m` is what the read-out of
    the moves adds to its uncertainty; None where some move does not state how well it was read.
    """

    reported_mm: tuple[float, float]
    predicted_mm_per_m: float
    measured_mm_per_m: float
    difference_mm_per_m: float
    u_mm_per_m: float
    U_mm_per_m: float
    result: Agreement
    u_moves_mm_per_m: float | None = None


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
                hint = "Look for a move that was not reported, a wrong sign, or a bearing that slipped back."
                if check.u_moves_mm_per_m is None and any(check.reported_mm):
                    hint += " U leaves out how well the moves were read: state `read_to:` of each."
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
    difference, of_moves = change.slope_mm_per_m - effect, _u_moves(survey, roll, name)
    u, k = hypot(change.u_mm_per_m, of_moves or 0.0), change.U_mm_per_m / (change.u_mm_per_m or 1.0)
    agrees = abs(difference) <= k * u + _ROUNDING * after.limit_mm_per_m
    return AdjustmentCheck(
        reported_mm=(operator, drive),
        predicted_mm_per_m=before.slope_mm_per_m + effect,
        measured_mm_per_m=after.slope_mm_per_m,
        difference_mm_per_m=difference,
        u_mm_per_m=u,
        U_mm_per_m=k * u,
        result="agrees" if agrees else "differs",
        u_moves_mm_per_m=of_moves,
    )


def _u_moves(survey: Survey, roll: Roll, name: AspectName) -> float | None:
    """Return what the read-out of a roll's moves adds; None where one does not state it, or none was made."""
    up = DIRECTIONS[name] == "up"
    made = [
        one
        for one in survey.adjustments
        if one.roll == roll.id and (one.up_mm if up else one.downstream_mm) is not None
    ]
    read_to = [one.read_to_mm for one in made if one.read_to_mm is not None]
    if not made or len(read_to) < len(made):
        return None
    return 1000.0 / roll.bearings_mm * hypot(*(step / sqrt(6.0) for step in read_to))
