"""Measurement results of a DCC: per aspect and round, every roll with slope, error, U, limit and conformity.

Slopes are in mm/m; level is positive where the drive side is higher, parallel where it lies downstream.
"""

import xml.etree.ElementTree as ET
from collections.abc import Iterator, Mapping
from math import erf, sqrt

from certgen.assessment.assessment import ASPECTS, AspectName, Assessment, Measured
from certgen.exports.xml_parts import DCC, SI, add, contents, name, named, number, software
from certgen.survey.survey import Decision, Round, Survey

_SLOPE_UNIT = r"\milli\metre\metre\tothe{-1}"
_ROUNDS: Mapping[Round, tuple[str, str]] = {
    "as_found": ("as found", "beforeAdjustment"),
    "as_left": ("as left", "afterAdjustment"),
}
_SIGNS = {
    "level": "positive where the drive side is higher than the operator side",
    "parallel": "positive where the drive side lies downstream of the operator side",
}
_METHODS = {
    "level": "Slope of each roll against the horizontal, from readings of a precision level, or of both ends "
    "over a level plane; all readings combined by weighted least squares",
    "parallel": "Slope of each roll against the reference, across the machine, from readings of both its "
    "ends against a sweeping laser; setups tied by monuments and rolls read again; all readings combined by "
    "weighted least squares",
}
_NOTHING = {"reference", "not measured"}
_CONFORMITY = {
    "pass": "pass",
    "conditional pass": "conditionalPass",
    "conditional fail": "conditionalFail",
    "fail": "fail",
}


def measurement_results(assessment: Assessment) -> Iterator[ET.Element]:
    """Yield the results of each aspect in each round that was surveyed: of rolls, then of neighbours."""
    for aspect in ASPECTS:
        if assessment.solution.aspect(aspect) is None:
            continue
        for which in assessment.surveyed:
            yield _of_rolls(assessment, aspect, which)
            pairs = [pair for pair in assessment.adjacent if aspect in pair.judged]
            if pairs:
                yield _of_pairs(assessment, aspect, which)


def _opened(
    assessment: Assessment, title: str, aspect: AspectName, which: Round
) -> tuple[ET.Element, ET.Element]:
    """A measurement result with its method, software and conditions, and the place for its data."""
    words, status = _ROUNDS[which]
    root = ET.Element(f"{{{DCC}}}measurementResult")
    named(root, f"{title}, {words}")
    method = add(add(root, "usedMethods"), "usedMethod")
    named(method, f"{aspect.capitalize()} of rolls")
    contents(add(method, "description"), f"{_METHODS[aspect]}; {_SIGNS[aspect]}.")
    add(method, "reference", "JCGM 100:2008")
    software(root, "usedSoftware")
    conditions = add(root, "influenceConditions")
    state = add(conditions, "influenceCondition")
    named(state, "State of the line")
    add(state, "status", status)
    contents(add(add(state, "data"), "text"), f"The line {words}")
    temperature = assessment.survey.conditions.temperature_c
    if temperature is not None:
        one = add(conditions, "influenceCondition")
        named(one, "Temperature")
        quantity = add(add(one, "data"), "quantity")
        named(quantity, "Temperature of the surroundings")
        _real(quantity, temperature, r"\degreecelsius")
    result = add(add(root, "results"), "result")
    named(result, f"{title}, {words}")
    return root, add(result, "data")


def _of_rolls(assessment: Assessment, aspect: AspectName, which: Round) -> ET.Element:
    root, data = _opened(assessment, f"{aspect.capitalize()} of rolls", aspect, which)
    names = {
        roll.id: (f"roll_{n}", f"{roll.id} {roll.name}") for n, roll in enumerate(assessment.survey.rolls, 1)
    }
    for roll in assessment.rolls:
        reference, title = names[roll.id]
        one = add(data, "list", refId=reference)
        name(one, title)
        state = roll.aspect(aspect).in_round(which)
        if state is None:
            _nothing(one, roll.aspect(aspect).reasons.get(which) or "no reading")
        else:
            _state(one, state, assessment.survey)
    return root


def _of_pairs(assessment: Assessment, aspect: AspectName, which: Round) -> ET.Element:
    title = f"{aspect.capitalize()} of neighbouring rolls, the later along the web less the earlier"
    root, data = _opened(assessment, title, aspect, which)
    numbers = {roll.id: f"roll_{n}" for n, roll in enumerate(assessment.survey.rolls, 1)}
    for pair in assessment.adjacent:
        if aspect not in pair.judged:
            continue
        one = add(data, "list", refId=f"{numbers[pair.from_]} {numbers[pair.to]}")
        name(one, f"{pair.from_} to {pair.to}")
        state = pair.aspect(aspect).get(which)
        if state is None:
            _nothing(one, pair.reasons.get((aspect, which)) or "no reading")
        else:
            _state(one, state, assessment.survey)
    return root


def _nothing(parent: ET.Element, reason: str) -> None:
    quantity = add(parent, "quantity")
    named(quantity, "Slope")
    contents(add(quantity, "noQuantity"), f"not measured: {reason}")


def _state(parent: ET.Element, state: Measured, survey: Survey) -> None:
    """Slope and error; the reference is zero by definition, and nothing is judged of it."""
    slope = add(parent, "quantity")
    named(slope, "Slope")
    judged = state.verdict not in _NOTHING
    stated = survey.uncertainty.coverage.probability
    _real(slope, state.slope_mm_per_m, _SLOPE_UNIT, state if judged else None, stated)
    if not judged:
        return
    error = add(parent, "quantity")
    named(error, "Error: slope less target")
    _real(error, state.error_mm_per_m, _SLOPE_UNIT, state, stated)
    statement = add(add(error, "measurementMetaData"), "metaData")
    named(statement, "Statement of conformity")
    add(statement, "conformity", conformity(state, survey.decision))
    limit = add(add(statement, "data"), "quantity")
    named(limit, "Limit of the error, either way")
    _real(limit, state.limit_mm_per_m, _SLOPE_UNIT)


def conformity(state: Measured, decision: Decision) -> str:
    """Return the verdict in the words of the form.

    Under guarded acceptance a fail says no more than that the pass was not shown; it is called one only where
    the error is beyond limit and U together.
    """
    beyond = abs(state.error_mm_per_m) > state.limit_mm_per_m + state.U_mm_per_m
    if decision == "guarded" and state.verdict == "fail" and not beyond:
        return "noPass"
    return _CONFORMITY[state.verdict]


def _real(
    parent: ET.Element, value: float, unit: str, state: Measured | None = None, stated: float | None = None
) -> None:
    """A value in a unit of D-SI; with U, its factor and probability where a state is given.

    The probability is the one that was `stated`, else that of a normal quantity within the factor.
    """
    real = add(parent, "real", space=SI)
    add(real, "value", number(value), SI)
    add(real, "unit", unit, SI)
    if state is None:
        return
    expanded = add(add(real, "measurementUncertaintyUnivariate", space=SI), "expandedMU", space=SI)
    add(expanded, "valueExpandedMU", number(state.U_mm_per_m), SI)
    add(expanded, "coverageFactor", number(state.k), SI)
    share = erf(state.k / sqrt(2.0)) if stated is None else stated
    add(expanded, "coverageProbability", f"{share:.6f}", SI)
    add(expanded, "distribution", "normal" if state.dof is None else "student-t", SI)
