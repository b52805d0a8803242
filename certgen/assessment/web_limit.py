"""How far a roll may lie askew before one edge of the web goes slack, beside the tolerances on parallel.

The free span before the roll is a beam in its own plane under tension T, clamped by friction at the roll
before it and led in square to the roll: y'''' = K² y'', K² = T/(E I), I = t W³/12, with y(0) = y'(0) = 0,
y'(L) = θ and y''(L) = 0. The web's edge goes slack where its bending strain W y''(0)/2 reaches the strain of
the tension. Source: J. J. Shelton, "Lateral Dynamics of a Moving Web", thesis, Oklahoma State University 1968
(from memory): Euler-Bernoulli beam with axial tension, derived step by step in docs/web_tolerance.md.
"""

from dataclasses import dataclass
from itertools import pairwise
from math import cosh, sqrt, tanh

from certgen.survey.survey import Limit, Roll, Survey, Web

_STIFFEST = 700.0  # cosh of more has no float; its inverse is nothing by then


@dataclass(frozen=True, slots=True)
class CriticalSlope:
    """The slope of a roll, against the roll before it, at which one edge of the web goes slack.

    `simple_mm_per_m` is the limit for a span short against its stiffness, `exact_mm_per_m` the beam's own;
    the exact one is never the larger. `span_mm` is the free span before the roll.
    """

    span_mm: float
    simple_mm_per_m: float
    exact_mm_per_m: float


def critical_slope(web: Web, roll: str) -> CriticalSlope | None:
    """Return the critical slope for the span before a roll; None where the survey states no such span."""
    span = web.spans_mm.get(roll)
    if span is None:
        return None
    exact = exact_angle(web.strain, span / web.width_mm)
    return CriticalSlope(span, web.critical_mm_per_m(span), 1000.0 * exact)


def exact_angle(strain: float, slenderness: float) -> float:
    """Return the critical angle (rad) of the beam: sqrt(strain/3) tanh(sqrt(3 strain) span/width).

    From W y''(0)/2 = strain with y''(0) = K θ coth(K L/2) and K W = sqrt(12 strain).
    """
    return sqrt(strain / 3.0) * tanh(sqrt(3.0 * strain) * slenderness)


def shift_mm(web: Web, span_mm: float, slope_mm_per_m: float) -> float:
    """Return how far the web runs aside at a roll askew by a slope: that slope x span x `lateral_shift`."""
    share = lateral_shift(stiffness(web.strain, span_mm / web.width_mm))
    return share * slope_mm_per_m / 1000.0 * span_mm


def stiffness(strain: float, slenderness: float) -> float:
    """Return K L, the stiffness parameter of a span: sqrt(12 strain) x span / width."""
    return sqrt(12.0 * strain) * slenderness


def lateral_shift(stiffness_kl: float) -> float:
    """Return how far the web runs aside at the roll, as a share of θ L; 2/3 as K L goes to zero.

    (cosh KL - sinh KL / KL) / (cosh KL - 1). Below K L = 0.01 its series 2/3 + (KL)²/90 is used, where the
    difference of nearly equal numbers would lose digits.
    """
    if stiffness_kl < 0.01:
        return 2.0 / 3.0 + stiffness_kl**2 / 90.0
    at_roll = 1.0 / cosh(min(stiffness_kl, _STIFFEST))
    return (1.0 - tanh(stiffness_kl) / stiffness_kl) / (1.0 - at_roll)


@dataclass(frozen=True, slots=True)
class WebMargin:
    """What the span before one roll bears, and how much of it the tolerances use.

    `critical_mm_per_m` is the slope, against the roll before, at which one edge of the web goes slack;
    `critical_exact_mm_per_m` the same without the simplification for a short span. The ratios are limit over
    critical slope, that of the roll's own limit and that of the limit against the roll before it (None where
    there is none). `shift_at_limit_mm` is how far the web runs aside at a roll that lies at its limit.
    """

    roll: str
    span_mm: float
    span_over_width: float
    critical_mm_per_m: float
    critical_exact_mm_per_m: float
    limit_ratio: float | None
    adjacent_limit_ratio: float | None
    shift_at_limit_mm: float | None


def web_margins(survey: Survey) -> tuple[WebMargin, ...]:
    """Return the margin of every roll whose span is stated, in the order of the web; none without a web."""
    web = survey.web
    if web is None:
        return ()
    before = {after.id for _, after in pairwise(survey.rolls)}
    margins = (_margin(web, roll, roll.id in before) for roll in survey.rolls)
    return tuple(margin for margin in margins if margin is not None)


def _margin(web: Web, roll: Roll, follows: bool) -> WebMargin | None:
    critical = critical_slope(web, roll.id)
    if critical is None:
        return None
    limit, span = roll.parallel_limit, critical.span_mm
    return WebMargin(
        roll=roll.id,
        span_mm=span,
        span_over_width=span / web.width_mm,
        critical_mm_per_m=critical.simple_mm_per_m,
        critical_exact_mm_per_m=critical.exact_mm_per_m,
        limit_ratio=_ratio(limit, critical.simple_mm_per_m),
        adjacent_limit_ratio=_ratio(roll.adjacent_limit, critical.simple_mm_per_m) if follows else None,
        shift_at_limit_mm=None if limit is None else shift_mm(web, span, limit.slope_mm_per_m),
    )


def _ratio(limit: Limit | None, critical_mm_per_m: float) -> float | None:
    return None if limit is None else limit.slope_mm_per_m / critical_mm_per_m
