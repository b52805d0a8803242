"""Drift by generalised least squares: against statsmodels, at the stated rates, through steps."""

from collections.abc import Sequence

import numpy as np
import pytest
import statsmodels.api as sm
from scipy import stats

from certgen.network.equations import Label, Observation, Unknown
from certgen.network.least_squares import Array, Estimate, solve
from certgen.visits.drift import Course, Drift, Reach, drift, reach
from certgen.visits.standing import Seen
from tests.simulate import records

NETWORK = solve([Observation({Unknown("slope", "R1"): 1.0}, 0.0, 1.0, Label("level"))])
YEARS = (0.0, 1.1, 1.9, 3.2, 4.0)
US = (0.010, 0.014, 0.008, 0.012, 0.011)
VALUES = (0.003, 0.021, 0.018, 0.055, 0.048)
TRIALS = 2000


def course(
    years: Sequence[float], values: Sequence[float], cov: Array, stretches: Sequence[int] = ()
) -> Course:
    """Return a course of slopes with that covariance, shape (n, n)."""
    rows = np.linalg.cholesky(cov)
    seen = [
        Seen(Estimate(float(value), {}, row), NETWORK, records.BLANK)
        for value, row in zip(values, rows, strict=True)
    ]
    return Course(list(years), list(stretches) or [0] * len(seen), seen)


def fitted(values: Sequence[float], cov: Array, stretches: Sequence[int] = ()) -> Drift:
    """Return the drift of values at the usual years."""
    found = drift(course(YEARS[: len(values)], values, cov, stretches))
    assert found is not None
    return found


def test_drift_is_that_of_weighted_least_squares() -> None:
    """Peer: statsmodels WLS with weights 1/u², its covariance not scaled."""
    cov = np.diag(np.square(US))
    found = fitted(VALUES, cov)
    peer = sm.WLS(VALUES, sm.add_constant(np.array(YEARS)), weights=1.0 / np.square(US)).fit(
        cov_type="fixed scale", cov_kwds={"scale": 1.0}
    )
    assert found.rate == pytest.approx(peer.params[1], rel=1e-10)
    assert found.u_rate == pytest.approx(peer.bse[1], rel=1e-10)
    assert found.chi_square == pytest.approx(float(np.sum(peer.wresid**2)), rel=1e-10)
    assert found.p_value == pytest.approx(peer.pvalues[1], rel=1e-8)
    assert found.at(6.0)[0] == pytest.approx(peer.predict([[1.0, 6.0]])[0], rel=1e-10)
    assert found.at(6.0)[1] == pytest.approx(peer.get_prediction([[1.0, 6.0]]).se_mean[0], rel=1e-10)


def test_drift_uses_the_whole_covariance() -> None:
    """Peer: statsmodels GLS; slopes of one visit share errors."""
    cov = np.diag(np.square(US))
    cov[1, 2] = cov[2, 1] = 0.6 * US[1] * US[2]
    found = fitted(VALUES, cov)
    peer = sm.GLS(VALUES, sm.add_constant(np.array(YEARS)), sigma=cov).fit()
    assert found.rate == pytest.approx(peer.params[1], rel=1e-10)
    assert found.u_rate == pytest.approx(peer.bse[1] / np.sqrt(peer.scale), rel=1e-10)


def test_scatter_beyond_the_stated_takes_students_t() -> None:
    """Peer: the same line with its covariance scaled by the residuals, as statsmodels does by default."""
    wild = (0.0, 0.2, -0.15, 0.25, 0.0)
    found = fitted(wild, np.diag(np.square(US)))
    peer = sm.WLS(wild, sm.add_constant(np.array(YEARS)), weights=1.0 / np.square(US)).fit()
    assert found.scale > 1.0
    assert found.u_rate == pytest.approx(peer.bse[1], rel=1e-10)
    assert found.p_value == pytest.approx(peer.pvalues[1], rel=1e-8)
    assert found.k == pytest.approx(stats.t.ppf(0.975, 3))
    assert (found.shown, found.unsteady) == (False, True)


def test_steps_between_stretches_do_not_count() -> None:
    """Peer: statsmodels WLS with a column for each stretch; a step of any size leaves the rate alone."""
    cov = np.diag(np.square(US))
    stretches = (0, 0, 1, 1, 1)
    starts = np.column_stack([np.equal(stretches, 0), np.equal(stretches, 1), YEARS]).astype(float)
    peer = sm.WLS(VALUES, starts, weights=1.0 / np.square(US)).fit()
    found = fitted(VALUES, cov, stretches)
    stepped = fitted(
        [v + (0.0 if s == 0 else 3.0) for v, s in zip(VALUES, stretches, strict=True)], cov, stretches
    )
    assert found.rate == pytest.approx(peer.params[2], rel=1e-10)
    assert stepped.rate == pytest.approx(found.rate, rel=1e-9)
    assert stepped.chi_square == pytest.approx(found.chi_square, rel=1e-9)


def test_rate_needs_two_times_in_one_stretch() -> None:
    """Else every change could be a step."""
    cov = np.diag(np.square(US[:2]))
    assert drift(course((0.0, 1.0), (0.0, 1.0), cov, (0, 1))) is None
    assert drift(course((1.0, 1.0), (0.0, 1.0), cov)) is None
    # one stretch with two times is enough, whatever the others hold
    several = np.diag(np.square(US[:3]))
    assert drift(course((0.0, 1.0, 2.0), (0.0, 1.0, 5.0), several, (0, 0, 1))) is not None


def test_one_sudden_movement_is_no_drift() -> None:
    """Peer: statsmodels WLS with a column that is 1 after the movement, and its chi-square."""
    moved = np.repeat([0.0, 1.0], 3)
    values = 0.1 * moved + (0.003, -0.004, 0.002, -0.003, 0.004, 0.0)
    found = drift(course(range(6), list(values), np.diag([0.01**2] * 6)))
    peer = sm.WLS(values, sm.add_constant(moved), weights=[0.01**-2] * 6).fit()
    assert found is not None
    assert found.p_value < 0.05
    assert found.sudden is not None
    assert (found.sudden.after, found.sudden.before) == (2, 3)
    assert found.sudden.chi_p == pytest.approx(stats.chi2.sf(float(np.sum(peer.wresid**2)), 4), rel=1e-8)
    assert (found.sudden.explains, found.shown, found.unsteady) == (True, False, True)


@pytest.mark.parametrize(("gain", "sudden"), [(5.9, False), (6.1, True)])
def test_sudden_movement_is_twenty_times_as_likely_as_a_steady_rate(gain: float, sudden: bool) -> None:
    """A likelihood ratio of 20 is a difference of chi-square of 2 ln 20 = 5.99.

    Of a step of 1 at the middle of six even times a straight line leaves 3/2 - 4.5² / 17.5 = 12/35. The
    scatter (1, -2, 1, 1, -2, 1) stands at right angles to both and adds 3.9 to the chi-square of either.
    """
    moved, scatter = np.repeat([0.0, 1.0], 3), np.array([1.0, -2.0, 1.0, 1.0, -2.0, 1.0])
    values = 0.01 * (np.sqrt(gain * 35.0 / 12.0) * moved + np.sqrt(3.9 / 12.0) * scatter)
    found = drift(course(range(6), list(values), np.diag([0.01**2] * 6)))
    assert found is not None
    assert found.chi_p == pytest.approx(stats.chi2.sf(gain + 3.9, 4), rel=1e-8)
    assert (found.sudden is not None) is sudden


def test_steady_rate_beyond_the_stated_is_still_a_drift() -> None:
    """Scatter three times as large as stated on a clear slope: no single movement is as likely."""
    rng = np.random.default_rng(20261125)
    cov = np.diag(np.square(US))
    drawn = 0.06 * np.array(YEARS) + rng.normal(0.0, 3.0 * np.array(US), (300, len(US)))
    drifts = [fitted(list(values), cov) for values in drawn]
    refused = [one for one in drifts if one.scale > 1.0]
    assert len(refused) > 100
    assert sum(one.sudden is not None for one in refused) < 0.05 * len(refused)


def test_movement_between_stretches_is_an_adjustment() -> None:
    """Only where a stretch holds both sides of it can a movement be told from the step of an adjustment."""
    cov = np.diag(np.square(US))
    found = fitted((0.0, 0.0, 0.3, 0.4, 0.3), cov, (0, 0, 1, 1, 1))
    assert found.scale > 1.0
    assert found.sudden is None or found.sudden.after >= 1.9


def test_two_visits_give_their_difference_over_the_time() -> None:
    """No degrees of freedom, no chi-square: the stated uncertainties alone."""
    found = fitted((0.0, 0.033), np.diag(np.square(US[:2])))
    assert found.rate == pytest.approx(0.03)
    assert found.u_rate == pytest.approx(np.hypot(*US[:2]) / 1.1)
    assert (found.dof, found.chi_p, found.scale) == (0, None, 1.0)


@pytest.mark.parametrize("visits", [2, 3, 5])
def test_no_drift_is_called_drift_at_the_stated_rate(visits: int) -> None:
    """5 %, within three standard deviations of so many trials."""
    share = _called(visits, 0.0)
    assert share == pytest.approx(0.05, abs=3.0 * (0.05 * 0.95 / TRIALS) ** 0.5)


def test_drift_is_called_as_often_as_it_should() -> None:
    """A rate of 3.5 u, with nothing but stated uncertainties: in 93.8 % of the trials."""
    share = stats.norm.sf(1.959964 - 3.5)
    assert _called(2, 3.5) == pytest.approx(share, abs=3.0 * (share * (1.0 - share) / TRIALS) ** 0.5)


def _called(visits: int, by_u: float) -> float:
    """Return how often a drift of so many u of the rate is shown."""
    rng, years, us = np.random.default_rng(20260302), np.array(YEARS[:visits]), np.array(US[:visits])
    cov = np.diag(us**2)
    rate = by_u * fitted([0.0] * visits, cov).u_rate
    drawn = rate * years + rng.normal(0.0, us, (TRIALS, visits))
    return sum(fitted(list(values), cov).shown for values in drawn) / TRIALS


def _straight(rate: float, level: float, u: float) -> Drift:
    """Return a drift known to u in level and rate alike."""
    return Drift(rate, u, 0, 0.0, None, 1.0, 4.0, level, np.diag([u**2, u**2]))


def test_limit_is_reached_where_the_line_crosses_it() -> None:
    """Practically without uncertainty all three are one: (0.05 - 0.01) / 0.02 years after the last visit."""
    found = reach(_straight(0.02, 0.01, 1e-9), 0.0, 0.05, 10.0)
    assert (found.earliest, found.expected, found.latest) == pytest.approx((6.0, 6.0, 6.0), abs=1e-6)


def test_limit_on_the_other_side_is_reached_as_well() -> None:
    """The same mirrored, and shifted by a target."""
    found = reach(_straight(-0.02, 0.09, 1e-9), 0.1, 0.05, 10.0)
    assert found.expected == pytest.approx(6.0, abs=1e-6)


def test_bounds_of_the_day_hold_their_definition() -> None:
    """At the earliest day error plus U meet the limit, at the latest error less U."""
    one = _straight(0.02, 0.01, 0.003)
    found = reach(one, 0.0, 0.05, 20.0)
    assert found.earliest is not None
    assert found.latest is not None
    for year, side in ((found.earliest, 1.0), (found.latest, -1.0)):
        value, u = one.at(year)
        assert value + side * one.k * u == pytest.approx(0.05, abs=1e-9)
    assert found.earliest < 6.0 < found.latest


def test_limit_that_is_not_kept_now_is_reached_now() -> None:
    """The earliest day is the last visit's; beyond the horizon there is none."""
    assert reach(_straight(0.0, 0.06, 0.001), 0.0, 0.05, 20.0) == Reach(4.0, 4.0, 4.0)
    assert reach(_straight(0.001, 0.0, 1e-6), 0.0, 0.05, 20.0) == Reach(None, None, None)
