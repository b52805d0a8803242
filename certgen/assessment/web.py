"""The tolerances on parallel beside what the web bears. Slopes in mm/m, lengths in mm, shares of 1."""

from dataclasses import dataclass
from itertools import pairwise

from certgen.engine.web import critical_slope, shift_mm
from certgen.survey.survey import Limit, Roll, Survey, Web


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
