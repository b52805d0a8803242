"""A comparison as plain data, for `--json`; the names are a contract. Slopes in mm/m, moves in mm."""

from math import isinf

from certgen.assessment.assessment import ASPECTS
from certgen.assessment.comparison import AspectChange, Comparison, RollChange, Shift, Stood
from certgen.assessment.comparison_remarks import Resized, other_line, other_reference, resized, scattered
from certgen.assessment.standing import CommonReference, Moment

FORMAT = "certgen-compare/1"

Json = dict[str, object]


def comparison_results(comparison: Comparison) -> Json:
    """Return the comparison as dicts, lists, text and floats; rolls in the order of the later survey."""
    sizes = resized(comparison)
    suspect = other_reference(comparison)
    return {
        "format": FORMAT,
        "before": moment(comparison.before),
        "after": moment(comparison.after),
        "one_visit": comparison.within_one_visit,
        "reference": reference(comparison.reference),
        "significance": comparison.significance,
        "relevant_mm_per_m": comparison.relevant_mm_per_m,
        "counts": {
            "judged": comparison.judged,
            "moved": comparison.count("moved"),
            "not_moved": comparison.count("not moved"),
            "cannot_be_told": comparison.count("cannot be told"),
            "moved_by_chance": comparison.significance * comparison.judged,
        },
        "other_line": list(other_line(comparison.before.survey, comparison.after.survey) or ()),
        "other_reference": None
        if suspect is None
        else {"roll": suspect.roll, "moved": suspect.moved, "present": suspect.present},
        "scattered": [
            {"certificate": one.certificate, "aspect": one.aspect, "p_value": one.p_value}
            for one in scattered([comparison.before.solution, comparison.after.solution])
        ],
        "rolls": [_roll(roll, sizes) for roll in comparison.rolls],
    }


def moment(one: Moment) -> Json:
    """Return which survey and which round of it a moment is."""
    survey = one.survey
    return {
        "survey_sha256": survey.sha256,
        "certificate": {"number": survey.certificate.number, "revision": survey.certificate.revision},
        "line": survey.line.name,
        "asset": survey.line.asset,
        "round": one.round,
        "day": one.day.isoformat(),
    }


def reference(common: CommonReference | None) -> Json | None:
    """Return the common reference of parallel; None where parallel was not surveyed throughout."""
    if common is None:
        return None
    return {"roll": common.roll, "monuments": list(common.monuments), "brought": common.brought}


def _roll(roll: RollChange, sizes: tuple[Resized, ...]) -> Json:
    return {
        "id": roll.name,
        "before_id": None if roll.before is None else roll.before.id,
        "after_id": None if roll.after is None else roll.after.id,
        "presence": roll.presence,
        "resized": [
            {"dimension": one.dimension, "before_mm": one.before_mm, "after_mm": one.after_mm}
            for one in sizes
            if one.roll == roll.name
        ],
        **{name: _aspect(roll.aspect(name)) for name in ASPECTS},
    }


def _aspect(change: AspectChange) -> Json:
    return {
        "before": _stood(change.before),
        "after": _stood(change.after),
        "change": None if change.shift is None else _shift(change.shift),
        "outcome": change.outcome,
    }


def _stood(stood: Stood | None) -> Json | None:
    return None if stood is None else {"slope_mm_per_m": stood.slope_mm_per_m, "U_mm_per_m": stood.U_mm_per_m}


def _shift(shift: Shift) -> Json:
    return {
        "slope_mm_per_m": shift.value_mm_per_m,
        "u_mm_per_m": shift.u_mm_per_m,
        "U_mm_per_m": shift.U_mm_per_m,
        "k": shift.k,
        "dof": None if isinf(shift.dof) else shift.dof,
        "p_value": shift.p_value,
        "relevant_mm_per_m": shift.relevant_mm_per_m,
        "drive_bearing_alone_mm": shift.drive_mm,
        "operator_bearing_alone_mm": shift.operator_mm,
        "U_bearing_mm": shift.U_mm_per_m * shift.bearings_mm / 1000.0,
    }
