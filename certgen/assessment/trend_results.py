"""A trend as plain data, for `--json`; the names are a contract. Slopes in mm/m, rates in mm/m per year."""

from datetime import date

from certgen.assessment.assessment import ASPECTS, AspectName
from certgen.assessment.comparison_results import Json, reference
from certgen.assessment.trend_records import AspectTrend, Outlook, Point, RollTrend, Trend
from certgen.engine.drift import PROBABILITY, Drift
from certgen.survey.survey import Survey

FORMAT = "certgen-trend/1"


def trend_results(found: Trend) -> Json:
    """Return the trend as dicts, lists, text and floats; visits the earliest first."""
    following = found.next_survey
    return {
        "format": FORMAT,
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
        "rolls": [_roll(roll) for roll in found.rolls],
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


def _roll(roll: RollTrend) -> Json:
    return {"id": roll.name, **{name: _aspect(roll.aspect(name)) for name in ASPECTS}}


def _aspect(aspect: AspectTrend) -> Json:
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
