"""When a slope that drifts leaves its tolerance, with the uncertainty of the drift."""

from collections.abc import Callable
from dataclasses import dataclass

from scipy.optimize import brentq

from certgen.engine.drift import Drift


@dataclass(frozen=True, slots=True)
class Reach:
    """When a slope drifts over a limit, in years: expected, and its 95 % bounds; None: not so soon."""

    expected: float | None
    earliest: float | None
    latest: float | None


def reach(one: Drift, target: float, limit: float, horizon: float) -> Reach:
    """Return when the slope less its target leaves ±limit, from the last visit to the horizon (years).

    `earliest` is the first year at which the limit is no longer kept with 95 %, the last visit's own where it
    was not kept then; `latest` the year by which it has been passed with 95 %.
    """

    def over(side: float, bound: float) -> Callable[[float], float]:
        """How far the slope, bound times its U further out, lies over the limit on one side."""

        def excess(year: float) -> float:
            value, u = one.at(year)
            return side * (value - target) + bound * one.k * u - limit

        return excess

    def first(bound: float) -> float | None:
        found = (_first_root(over(side, bound), one.origin, horizon) for side in (1.0, -1.0))
        return min((year for year in found if year is not None), default=None)

    return Reach(expected=first(0.0), earliest=first(1.0), latest=first(-1.0))


def _first_root(excess: Callable[[float], float], start: float, end: float) -> float | None:
    """Return where a function that rises through zero once does so, `start` where it is above at once.

    A straight line plus or minus the root of a quadratic crosses upwards once at most (it is convex, or
    concave and rising to its asymptote); a concave one that falls back before the end is not followed.
    """
    if excess(start) > 0.0:
        return start
    return float(brentq(excess, start, end)) if excess(end) > 0.0 else None
