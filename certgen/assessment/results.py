"""The results as plain data, for `--json` and for machines; the names are a contract.

Slopes are mm/m, lengths mm. Readings a crew watches (`stop_reading_mm`) are in the survey's own sign.
"""

from collections.abc import Mapping
from dataclasses import asdict

from certgen.assessment import move_results
from certgen.assessment.adjustment_check import adjustment_checks
from certgen.assessment.assessment import (
    ASPECTS,
    AdjacentResult,
    AspectName,
    Assessment,
    Measured,
    RollAspect,
)
from certgen.assessment.web import web_margins
from certgen.engine.causes import Cause
from certgen.engine.closures import Closure
from certgen.engine.kept import SetAside, set_aside
from certgen.engine.observation import Label
from certgen.engine.quality import Named, Quality
from certgen.engine.suspects import Candidate
from certgen.survey.edition import FIRST
from certgen.survey.survey import ROUNDS, MonumentReading, Survey

FORMAT = "certgen-results/1"

Json = dict[str, object]

_NOT_MEASURED: Json = dict.fromkeys(Measured.__dataclass_fields__) | {"verdict": "not measured"}


def results(assessment: Assessment) -> Json:
    """Return the results contract as dicts, lists, text and floats; null where nothing was measured."""
    survey, margins = assessment.survey, _web(assessment.survey)
    return {
        "format": FORMAT,
        **_edition(survey),
        "survey_sha256": survey.sha256,
        "certificate": {
            "number": survey.certificate.number,
            "revision": survey.certificate.revision,
            "issued": survey.certificate.issued.isoformat(),
            "supersedes": survey.certificate.supersedes,
            "reason": survey.certificate.reason,
        },
        "reference": survey.reference.roll or list(survey.reference.monuments),
        "decision": survey.decision,
        "coverage_factor": assessment.coverage_factor,
        "positive": asdict(survey.positive),
        "network": {name: _network(assessment, name) for name in reversed(ASPECTS)},
        "web": None if survey.web is None else {"strain": survey.web.strain},
        "rolls": [_roll(assessment, index, margins) for index in range(len(assessment.rolls))],
        "adjacent": [_adjacent(pair) for pair in assessment.adjacent if pair.level or pair.parallel],
        "excluded": [_excluded(one) for one in set_aside(survey)],
        "overall": {
            "as_found": assessment.overall["as_found"],
            "as_left": assessment.overall["as_left"],
            "not_measured": [{"roll": roll, "aspect": name} for roll, name in assessment.not_measured],
        },
    }


def _edition(survey: Survey) -> Json:
    """The edition of the rules; the first did not record itself."""
    return {} if survey.edition == FIRST else {"edition": survey.edition}


def _network(assessment: Assessment, name: AspectName) -> Json | None:
    aspect = assessment.solution.aspect(name)
    return None if aspect is None else _quality(aspect.quality)


def _quality(quality: Quality) -> Json:
    return {
        "observations": quality.observations,
        "unknowns": quality.unknowns,
        "dof": quality.dof,
        "chi_square": quality.chi_square,
        "p_value": quality.p_value,
        "critical_w": quality.critical_w,
        "readings": quality.readings,
        "checked": quality.readings - len(quality.unchecked),
        "unchecked": [reading_of(label) for label in quality.unchecked],
        "suspects": [_suspect(one) for one in quality.named],
        "closures": [_closure(closure) for closure in quality.closures],
    }


def _suspect(named: Named) -> Json:
    suspect = named.suspect
    first = suspect.candidates[0] if suspect.candidates else None
    unit = unit_of(suspect.label) if first is None else unit_of_size(first)
    both = zip(suspect.candidates, named.causes, strict=True)
    return {
        **reading_of(suspect.label),
        "w": suspect.w,
        f"blunder_{unit}": suspect.blunder,
        f"smallest_detectable_{unit}": suspect.detectable,
        "cause": named.cause,
        "or": [reading_of(other) for other in suspect.others],
        "candidates": [_candidate(one, cause) for one, cause in both],
    }


def _candidate(one: Candidate, cause: Cause | None) -> Json:
    """One event that explains the contradiction; the first of `events` is the plainest."""
    unit = unit_of_size(one)
    return {
        "events": list(one.kinds),
        "readings": [reading_of(label) for label in one.readings],
        "between": None if one.between is None else list(one.between),
        "w": one.w,
        f"blunder_{unit}": one.blunder,
        f"u_{unit}": one.u,
        "likelihood": one.likelihood,
        "cause": cause,
    }


def unit_of_size(one: Candidate) -> str:
    """Return the unit of the size of an event: a setup turns by a slope, a reading is off in its own unit."""
    return "mm_per_m" if one.kind == "setup moved" else unit_of(one.readings[0])


def unit_of(label: Label) -> str:
    """Return the unit of a reading: slopes of a level in mm/m, everything else in mm."""
    return "mm_per_m" if label.source == "level" else "mm"


def reading_of(label: Label) -> Json:
    """Return which reading it was: setup, roll or monument, side and round."""
    whose = {"roll": label.roll} if label.monument is None else {"monument": label.monument}
    return {"setup": label.setup, **whose, "side": label.side, "round": label.round}


def _excluded(one: SetAside) -> Json:
    reading = one.reading
    read: Json = {"setup": one.setup, "where": reading.where, "reason": one.reason}
    if isinstance(reading, MonumentReading):
        return read | {"monument": reading.monument}
    return read | {"roll": reading.roll, "round": reading.round}


def _closure(closure: Closure) -> Json:
    again, first = closure.label, closure.first
    whose = {"roll": again.roll} if again.monument is None else {"monument": again.monument}
    unit = "mm_per_m" if again.monument is None else "mm"
    return {
        **whose,
        "first": {"setup": first.setup, "round": first.round},
        "again": {"setup": again.setup, "round": again.round},
        f"{'slope' if again.monument is None else 'difference'}_{unit}": closure.difference,
        f"u_{unit}": closure.u,
    }


def _web(survey: Survey) -> dict[str, Json]:
    """The margin of the web by roll; the roll's own name stands outside."""
    margins = {margin.roll: asdict(margin) for margin in web_margins(survey)}
    return {name: {key: margin[key] for key in margin if key != "roll"} for name, margin in margins.items()}


def _roll(assessment: Assessment, index: int, margins: Mapping[str, Json]) -> Json:
    result = assessment.rolls[index]
    sign = assessment.survey.positive.roll_sign
    return {
        "id": result.id,
        "name": assessment.survey.rolls[index].name,
        "parallel": {**_aspect(result.parallel), "web": margins.get(result.id)},
        "level": _aspect(result.level),
        "moves": move_results.moves(assessment.plan.rolls[index], sign),
        "adjustment_check": move_results.checks(adjustment_checks(assessment, index)),
    }


def _aspect(aspect: RollAspect) -> Json:
    return {
        "as_found": _state(aspect.as_found),
        "as_left": {**_state(aspect.as_left), "adjusted": aspect.adjusted},
        "change": None if aspect.change is None else asdict(aspect.change),
    }


def _state(state: Measured | None) -> Json:
    return dict(_NOT_MEASURED) if state is None else asdict(state)


def _adjacent(pair: AdjacentResult) -> Json:
    aspects: Json = {
        name: {which: _state(pair.aspect(name).get(which)) for which in ROUNDS} for name in reversed(ASPECTS)
    }
    return {"from": pair.from_, "to": pair.to} | aspects
