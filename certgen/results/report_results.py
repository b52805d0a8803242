"""A comparison, a trend and a reference study as plain data, for `--json`; the names are a contract."""

from datetime import date
from math import isinf

from certgen.assessment.assessment import ASPECTS, AspectName
from certgen.reference_study.study import Candidate, Study
from certgen.survey.survey import Survey
from certgen.visits.comparison import AspectChange, Comparison, RollChange, Shift, Stood
from certgen.visits.comparison_remarks import Resized, other_line, other_reference, resized, scattered
from certgen.visits.drift import PROBABILITY, Drift
from certgen.visits.standing import CommonReference, Moment
from certgen.visits.trend import AspectTrend, Outlook, Point, Trend

COMPARISON_FORMAT = "certgen-compare/1"

Json = dict[str, object]
TREND_FORMAT = "certgen-trend/1"
STUDY_FORMAT = "certgen-study/1"


def comparison_results(comparison: Comparison) -> Json:
    """Return the comparison as dicts, lists, text and floats; rolls in the order of the later survey."""
    sizes = resized(comparison)
    suspect = other_reference(comparison)
    return {
        "format": COMPARISON_FORMAT,
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
        "rolls": [_roll_change(roll, sizes) for roll in comparison.rolls],
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


def _roll_change(roll: RollChange, sizes: tuple[Resized, ...]) -> Json:
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
        **{name: _aspect_change(roll.aspect(name)) for name in ASPECTS},
    }


def _aspect_change(change: AspectChange) -> Json:
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


def trend_results(found: Trend) -> Json:
    """Return the trend as dicts, lists, text and floats; visits the earliest first."""
    following = found.next_survey
    return {
        "format": TREND_FORMAT,
        "visits": [_visit(survey) for survey in found.surveys],
        "reference": reference(found.reference),
        "probability": PROBABILITY,
        "rates_tested": found.tested,
        "drifting": _pairs(found.drifting),
        "unsteady": _pairs(found.unsteady),
        "next_survey": {
            "on_or_before": _day(following.day),
            "by_interval": following.by_interval,
            "because_of": _pairs(following.because),
            "tolerance_not_kept": _pairs(following.not_kept),
            "not_foretold": _pairs(following.not_foretold),
        },
        "rolls": [
            {"id": roll.name, **{name: _aspect_trend(roll.aspect(name)) for name in ASPECTS}}
            for roll in found.rolls
        ],
    }


def _visit(survey: Survey) -> Json:
    head, visit = survey.certificate, survey.visit
    return {
        "survey_sha256": survey.sha256,
        "certificate": {"number": head.number, "revision": head.revision},
        "started": visit.started.isoformat(),
        "finished": visit.finished.isoformat(),
    }


def _pairs(found: tuple[tuple[str, AspectName], ...]) -> list[Json]:
    return [{"roll": roll, "aspect": aspect} for roll, aspect in found]


def _aspect_trend(aspect: AspectTrend) -> Json:
    return {
        "target_mm_per_m": aspect.target_mm_per_m,
        "limit_mm_per_m": aspect.limit_mm_per_m,
        "kept_now": aspect.kept_now,
        "points": [_point(point) for point in aspect.points],
        "drift": None if aspect.drift is None else _drift(aspect.drift),
        "moved_between": None if aspect.sudden is None else [_day(day) for day in aspect.sudden],
        "outlook": None if aspect.outlook is None else _outlook(aspect.outlook),
    }


def _point(point: Point) -> Json:
    return {
        "certificate": point.visit,
        "round": point.round,
        "day": point.day.isoformat(),
        "slope_mm_per_m": point.slope_mm_per_m,
        "u_mm_per_m": point.u_mm_per_m,
        "U_mm_per_m": point.U_mm_per_m,
        "stretch": point.stretch,
    }


def _drift(one: Drift) -> Json:
    return {
        "mm_per_m_per_year": one.rate,
        "u": one.u_rate,
        "U": one.k * one.u_rate,
        "k": one.k,
        "p_value": one.p_value,
        "shown": one.shown,
        "unsteady": one.unsteady,
        "dof": one.dof,
        "chi_square": one.chi_square,
        "chi_square_p_value": one.chi_p,
        "scale": one.scale,
    }


def _outlook(outlook: Outlook) -> Json:
    return {
        "error_mm_per_m": outlook.error_mm_per_m,
        "kept_until": _day(outlook.kept_until),
        "open_ended": outlook.open_ended,
        "reached": {
            "passed": outlook.passed,
            "expected": _day(outlook.expected),
            "earliest": _day(outlook.earliest),
            "latest": _day(outlook.latest),
        },
    }


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def study_results(study: Study) -> Json:
    """Return the study as dicts, lists, text and floats; candidates the cheapest first."""
    survey = study.survey
    return {
        "format": STUDY_FORMAT,
        "survey_sha256": survey.sha256,
        "certificate": {"number": survey.certificate.number, "revision": survey.certificate.revision},
        "round": study.round,
        "reference": survey.reference.roll or list(survey.reference.monuments),
        "decision": survey.decision,
        "coverage_factor": study.coverage_factor,
        "candidates": [_candidate(candidate) for candidate in study.candidates],
        "not_measured": list(study.not_measured),
    }


def _candidate(candidate: Candidate) -> Json:
    cost = candidate.cost
    return {
        "kind": candidate.kind,
        "id": candidate.id,
        "present": candidate.present,
        "direction_mm_per_m": candidate.direction_mm_per_m,
        "judged": candidate.judged,
        "outside": len(cost.outside),
        "outside_rolls": list(cost.outside),
        "stay_outside": len(cost.stuck),
        "stay_outside_rolls": list(cost.stuck),
        "to_move": len(cost.moved),
        "to_move_rolls": list(cost.moved),
        "total_move_mm": cost.total_move_mm,
        "largest_move_mm": cost.largest_move_mm,
    }
