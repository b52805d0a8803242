"""The results as plain data, for `--json` and machines, and back into records; names are a contract.

Slopes are mm/m, lengths mm. Readings a crew watches (`stop_reading_mm`) are in the survey's own sign.
"""

from collections.abc import Mapping
from dataclasses import asdict, fields
from typing import Any

from certgen.assessment.assessment import (
    ASPECTS,
    AdjacentResult,
    AspectName,
    Assessment,
    Change,
    Measured,
    RollAspect,
    RollResult,
)
from certgen.assessment.web_limit import web_margins
from certgen.moves.after_moves import adjustment_checks
from certgen.moves.plan import plan_of
from certgen.network.solution import SetAside, set_aside
from certgen.results import move_results
from certgen.results.network_results import doubtful, network
from certgen.survey.edition import FIRST
from certgen.survey.survey import ROUNDS, MonumentReading, Round, Survey
from certgen.survey.unread import Reason

FORMAT = "certgen-results/1"

Json = dict[str, object]

_NOT_MEASURED: Json = dict.fromkeys(Measured.__dataclass_fields__) | {"verdict": "not measured"}
_MEASURED = tuple(field.name for field in fields(Measured))


def survey_results(assessment: Assessment) -> Json:
    """Return the results contract as dicts, lists, text and floats; null where nothing was measured."""
    survey, margins = assessment.survey, _web(assessment.survey)
    # the edition of the rules; the first did not record itself
    edition = {} if survey.edition == FIRST else {"edition": survey.edition}
    return {
        "format": FORMAT,
        **edition,
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
        "adjacent": [_adjacent(assessment, pair) for pair in assessment.adjacent if pair.judged],
        "excluded": [_excluded(one) for one in set_aside(survey)],
        "overall": {
            "as_found": assessment.overall["as_found"],
            "as_left": assessment.overall["as_left"],
            "not_measured": [asdict(one) for one in assessment.unread],
            "missing": {which: [asdict(one) for one in assessment.missing[which]] for which in ROUNDS},
            "all_conform_probability": {
                which: None if one is None else one.all_conform_probability
                for which, one in assessment.passes.items()
            },
            "passing": {
                which: None if one is None else asdict(one) for which, one in assessment.passes.items()
            },
        },
    }


def _network(assessment: Assessment, name: AspectName) -> Json | None:
    aspect = assessment.solution.aspect(name)
    return None if aspect is None else network(aspect.quality)


def _excluded(one: SetAside) -> Json:
    reading = one.reading
    read: Json = {"setup": one.setup, "where": reading.where, "reason": one.reason}
    if isinstance(reading, MonumentReading):
        return read | {"monument": reading.monument}
    return read | {"roll": reading.roll, "round": reading.round}


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
        "parallel": {**_aspect(assessment, result, "parallel"), "web": margins.get(result.id)},
        "level": _aspect(assessment, result, "level"),
        "moves": move_results.moves(plan_of(assessment).rolls[index], sign),
        "adjustment_check": move_results.checks(adjustment_checks(assessment, index)),
    }


def _aspect(assessment: Assessment, result: RollResult, name: AspectName) -> Json:
    aspect, doubts = result.aspect(name), assessment.doubts.get(name)
    states = [(which, aspect.in_round(which)) for which in ROUNDS]
    found = [] if doubts is None else [one for which in states for one in doubts.on_roll(result.id, *which)]
    cast = {w: doubts is not None and doubts.casts(result.id, w, state) for w, state in states}
    # whether the state as left is a reading of its own; None where there is none, for whatever reason. The
    # first edition said false there, which reads as if the roll had not been adjusted
    unknown = aspect.as_left is None and assessment.survey.edition != FIRST
    return {
        "as_found": {**_state(aspect.as_found, aspect.reasons.get("as_found")), "in_doubt": cast["as_found"]},
        "as_left": {
            **_state(aspect.as_left, aspect.reasons.get("as_left")),
            "adjusted": (None if unknown else aspect.adjusted),
            "in_doubt": cast["as_left"],
        },
        "change": None if aspect.change is None else asdict(aspect.change),
        "doubt": doubtful(found),
    }


def _state(state: Measured | None, reason: Reason | None) -> Json:
    """A state, or nothing but the verdict that there is none, with the reason."""
    return {**_NOT_MEASURED, "reason": reason} if state is None else {**asdict(state), "reason": None}


def _adjacent(assessment: Assessment, pair: AdjacentResult) -> Json:
    aspects: Json = {
        name: {
            which: {
                **_state(pair.aspect(name).get(which), pair.reasons.get((name, which))),
                "in_doubt": name in assessment.doubts and assessment.doubts[name].casts_on_pair(pair, which),
            }
            for which in ROUNDS
        }
        for name in reversed(ASPECTS)
    }
    return {"from": pair.from_, "to": pair.to} | aspects


def recorded_rolls(results: Mapping[str, Any]) -> tuple[RollResult, ...]:
    """Return the rolls of a results contract without their moves, in its order.

    KeyError or TypeError where it is none.
    """
    return tuple(
        RollResult(roll["id"], level=_aspect_of(roll["level"]), parallel=_aspect_of(roll["parallel"]))
        for roll in results["rolls"]
    )


def recorded_doubt(results: Mapping[str, Any], name: AspectName) -> frozenset[tuple[str, Round]]:
    """Return the rolls and rounds whose result of an aspect was in doubt; none where none is said to be."""
    return frozenset(
        (roll["id"], which)
        for roll in results["rolls"]
        for which in ROUNDS
        if roll[name][which].get("in_doubt", False)
    )


def _aspect_of(said: Mapping[str, Any]) -> RollAspect:
    change = said["change"]
    return RollAspect(
        as_found=_state_of(said["as_found"]),
        as_left=_state_of(said["as_left"]),
        adjusted=bool(said["as_left"]["adjusted"]),  # None where nothing was measured as left
        change=None if change is None else Change(**change),
        reasons={which: said[which]["reason"] for which in ROUNDS if said[which].get("reason") is not None},
    )


def _state_of(said: Mapping[str, Any]) -> Measured | None:
    if said["slope_mm_per_m"] is None:
        return None
    return Measured(**{name: said[name] for name in _MEASURED if name in said})
