"""Differences between visits: independent readings, the one thing a laser shares, degrees of freedom."""

from dataclasses import replace
from datetime import date
from math import inf, sqrt

import numpy as np
import pytest
from scipy import stats

from certgen.network.solution import Solution
from certgen.network.uncertainty import expand
from certgen.survey.survey import Reference, Survey
from certgen.visits.standing import Difference, Seen, covariance, difference, two_sided_p
from tests.simulate.lines import draw, stating
from tests.simulate.visits import dated, line, solved, visit

LINE = Reference(monuments=("M1", "M2", "M3"))


def seen(solution: Solution, roll: str) -> Seen:
    """Return a roll as found, for parallel."""
    assert solution.parallel is not None
    return Seen(solution.parallel.slopes[roll, "as_found"], solution.parallel.network, solution.survey)


def two_visits(**changes: object) -> tuple[Survey, Survey]:
    """Return two visits against an offset line, so that the squareness of the laser stays in the slopes."""
    rng = np.random.default_rng(3)
    drawn = draw(rng, LINE)
    first = stating(dated(drawn.survey(rng), date(2026, 3, 2)), 0.02)
    second = stating(dated(drawn.survey(rng), date(2027, 3, 2)), 0.02)
    return first, replace(second, **changes)


def test_variances_of_two_visits_add() -> None:
    """With a roll as the reference nothing is shared between visits."""
    one = line(1)
    first, second = solved(*(visit(one, n, np.random.default_rng(n)) for n in range(2)))
    before, after = seen(first, "R5"), seen(second, "R5")
    assert covariance(before, after) == 0.0
    assert difference(before, after).u == pytest.approx(sqrt(before.estimate.u**2 + after.estimate.u**2))


def test_difference_within_one_visit_is_that_of_the_estimates() -> None:
    """What two slopes of one network share cancels, as in Estimate subtraction."""
    (solution,) = solved(visit(line(2), 0, np.random.default_rng(2)))
    first, second = seen(solution, "R4"), seen(solution, "R5")
    change = second.estimate - first.estimate
    found = difference(first, second)
    assert (found.value, found.u) == (change.value, change.u)
    assert found.u < sqrt(first.estimate.u**2 + second.estimate.u**2)


def test_same_laser_under_the_same_calibration_cancels() -> None:
    """Its squareness error turns every roll alike at both visits: the change is free of it."""
    first, second = solved(*two_visits())
    plain = solved(*(stating(survey, 0.0) for survey in two_visits()))
    shared = difference(seen(first, "R5"), seen(second, "R5"))
    without = difference(seen(plain[0], "R5"), seen(plain[1], "R5"))
    assert covariance(seen(first, "R5"), seen(second, "R5")) == pytest.approx(0.02**2, rel=1e-6)
    assert shared.u == pytest.approx(without.u, rel=1e-6)


@pytest.mark.parametrize("change", [{"serial": "other"}, {"calibrated": date(2027, 1, 8)}])
def test_another_laser_or_calibration_is_independent(change: dict[str, object]) -> None:
    """Then both squareness errors enter."""
    first, second = two_visits()
    laser = replace(second.instruments[0], **change)
    other = replace(second, instruments=(laser, *second.instruments[1:]))
    assert covariance(*(seen(one, "R5") for one in solved(first, other))) == 0.0


def test_reversed_setups_do_not_cancel() -> None:
    """With the laser turned at the second visit its squareness enters the other way: the shares add up."""
    first, second = two_visits()
    setups = tuple(replace(setup, reversed=True) for setup in second.setups)
    turned = replace(second, setups=setups)
    assert covariance(*(seen(one, "R5") for one in solved(first, turned))) == pytest.approx(-(0.02**2))


def test_degrees_of_freedom_are_welch_satterthwaite_over_both_visits() -> None:
    """JCGM 100:2008, G.4.1, with each visit's own effective degrees of freedom."""
    surveys = [visit(line(1), n, np.random.default_rng(n)) for n in range(2)]
    stated = replace(
        surveys[0].uncertainty, repeatability_mm=replace(surveys[0].uncertainty.repeatability_mm, dof=8.0)
    )
    first, second = solved(*(replace(survey, uncertainty=stated) for survey in surveys))
    before, after = seen(first, "R5"), seen(second, "R5")
    found = difference(before, after)
    parts = [expand(one.network, one.estimate, stated) for one in (before, after)]
    assert found.dof == pytest.approx(found.u**4 / sum(part.u**4 / part.dof for part in parts))
    # a slope against itself is exactly known
    assert (difference(before, before).u, difference(before, before).dof) == (0.0, inf)


def test_p_value_is_students() -> None:
    """Both sides; normal where the uncertainty is exactly known. Peer: scipy.stats."""
    assert two_sided_p(2.0, inf) == pytest.approx(2.0 * stats.norm.sf(2.0))
    assert two_sided_p(-2.0, 5.0) == pytest.approx(2.0 * stats.t.sf(2.0, 5))
    assert Difference(0.0, 0.0, inf).p_value == 1.0
    assert Difference(1.0, 0.0, inf).p_value == 0.0
