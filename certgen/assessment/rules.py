"""Targets, and decision rules: from an error slope, its uncertainty and a limit to a verdict.

Sources: JCGM 106:2012, 8.2 and 8.3 (simple acceptance, guarded acceptance), 7.4 (conformance probability);
ILAC-G8:09/2019, 4.2 and 5 (binary and four-way statements with guard band w = U).
"""

from collections.abc import Callable, Mapping
from math import inf, isinf
from typing import Literal

from scipy.special import ndtr, ndtri, stdtr

from certgen.survey.survey import Roll, Survey

Verdict = Literal["pass", "conditional pass", "conditional fail", "fail", "reference", "not measured"]
# of a whole line: nothing fails, and yet it cannot be shown to pass
Overall = Verdict | Literal["not shown"]
Rule = Callable[[float, float, float], Verdict]

# From best to worst; a reference and what was not measured take no part.
SEVERITY: tuple[Verdict, ...] = ("pass", "conditional pass", "conditional fail", "fail")
PASSING: frozenset[Verdict] = frozenset(SEVERITY[:2])
FAILING: frozenset[Verdict] = frozenset(SEVERITY[2:])
# What calls for no move; a conditional pass does.
SETTLED: frozenset[Verdict] = frozenset({"pass", "reference", "not measured"})

# Beyond a bound by less than this share of the limit is rounding of the arithmetic: readings of exactly the
# limit must pass in inches as in millimetres.
ROUNDING = 1e-9


def level_target(roll: Roll) -> float:
    """Return minus the level slope that growth produces between the bearings."""
    return _slope(roll.growth.operator.up_mm - roll.growth.drive.up_mm, roll)


def parallel_target(survey: Survey, roll: Roll) -> float:
    """Return minus the parallel slope that growth produces, relative to that of the reference roll.

    A reference roll that itself turns while warming up takes the running direction of the line with it.
    """
    reference = next((r for r in survey.rolls if r.id == survey.reference.roll), None)
    return (_parallel_growth(reference) if reference is not None else 0.0) - _parallel_growth(roll)


def _parallel_growth(roll: Roll) -> float:
    return _slope(roll.growth.drive.downstream_mm - roll.growth.operator.downstream_mm, roll)


def _slope(difference_mm: float, roll: Roll) -> float:
    return 1000.0 * difference_mm / roll.bearings_mm


def simple(error: float, expanded: float, limit: float) -> Verdict:  # noqa: ARG001  (a rule takes all three)
    """Pass if the error is within the limit, whatever its uncertainty."""
    return "pass" if _within(error, limit, limit) else "fail"


def guarded(error: float, expanded: float, limit: float) -> Verdict:
    """Pass if the error is within the limit less its expanded uncertainty, else fail."""
    return "pass" if _within(error, limit - expanded, limit) else "fail"


def four_way(error: float, expanded: float, limit: float) -> Verdict:
    """Pass, conditional pass up to the limit, conditional fail up to the limit plus U, then fail."""
    if _within(error, limit - expanded, limit):
        return "pass"
    if _within(error, limit, limit):
        return "conditional pass"
    return "conditional fail" if _within(error, limit + expanded, limit) else "fail"


def _within(error: float, bound: float, limit: float) -> bool:
    return abs(error) <= bound + ROUNDING * limit


RULES: Mapping[str, Rule] = {"simple": simple, "guarded": guarded, "four_way": four_way}


def conformance_probability(error: float, u: float, limit: float, dof: float = inf) -> float:
    """Return the probability that the true error is within ±limit (JCGM 106:2012, 7.4).

    Normal with u; where u is known by degrees of freedom, Student's t with the scale u (JCGM 100:2008, G.3).
    """
    if u == 0.0:
        return 1.0 if abs(error) <= limit else 0.0
    return _below((limit - error) / u, dof) - _below((-limit - error) / u, dof)


def risk(error: float, u: float, limit: float, dof: float = inf) -> float:
    """Return the probability that the true error lies beyond ±limit: what conformance leaves, to all digits.

    Of a value that passes, the specific consumer's risk (JCGM 106:2012, 3.3.13 and 9.2).
    """
    if u == 0.0:
        return 0.0 if abs(error) <= limit else 1.0
    return _below((-limit - error) / u, dof) + _below((error - limit) / u, dof)


def normal_scores(error: float, u: float, limit: float, dof: float = inf) -> tuple[float, float]:
    """Return the bounds of a normal error that it exceeds as often as the true error does -limit and limit.

    In standard uncertainties; with infinite degrees of freedom simply how far the limits are.
    """
    if u == 0.0:
        return -inf, inf
    low, high = (-limit - error) / u, (limit - error) / u
    return (low, high) if isinf(dof) else (float(ndtri(stdtr(dof, low))), -float(ndtri(stdtr(dof, -high))))


def _below(z: float, dof: float) -> float:
    """The probability of less than z, normal or Student's t."""
    return float(ndtr(z) if isinf(dof) else stdtr(dof, z))


def overall(verdicts: list[Verdict], *, complete: bool) -> Overall:
    """Return the verdict on a round: a pass only where it is `complete`, with nothing left unmeasured.

    What fails fails whatever else is missing; `not measured` where nothing was judged.
    """
    found = worst(verdicts)
    return "not shown" if found in PASSING and not complete else found


def worst(verdicts: list[Verdict]) -> Verdict:
    """Return the worst verdict; `not measured` where nothing was judged."""
    judged = [SEVERITY.index(verdict) for verdict in verdicts if verdict in SEVERITY]
    return SEVERITY[max(judged)] if judged else "not measured"
