"""The risk that one of many lies outside: closed forms, one-dimensional integrals, scipy, plain draws."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import multivariate_normal, norm

from certgen.assessment.joint_probability import Within, any_outside
from certgen.network.least_squares import Estimate
from tests.processor import processor_time


def roll(name: str, own: float, *shared: float) -> Estimate:
    """Return an estimate with an error of its own and parts of shared ones."""
    return Estimate(0.0, {name: np.array([own])}, np.array(shared))


def each(bounds: list[tuple[float, float]]) -> list[Within]:
    """Return bounds on each estimate by itself."""
    return [Within(((index, 1.0),), *ends) for index, ends in enumerate(bounds)]


def test_forty_five_guarded_passes_at_their_limits_leave_two_in_three() -> None:
    """Independent, each 2 u inside its one limit: 1 - 0.97725^45 = 0.645; at 2.5 % each it is 68 %."""
    rolls = [roll(f"R{n}", 1.0) for n in range(45)]
    assert any_outside(rolls, each([(-40.0, 2.0)] * 45)).risk == pytest.approx(
        1 - norm.cdf(2.0) ** 45, rel=1e-12
    )
    found = any_outside(rolls, each([(-40.0, norm.ppf(0.975))] * 45))
    assert round(found.risk, 2) == 0.68
    assert found.error < 1e-9


def test_risks_far_below_one_keep_their_digits() -> None:
    """Two of 1e-15 each are 2e-15."""
    rolls, at = [roll("R1", 0.3), roll("R2", 0.7)], -norm.ppf(1e-15)
    assert any_outside(rolls, each([(-40.0, at)] * 2)).risk == pytest.approx(2e-15, rel=1e-9)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 0.99])
@pytest.mark.parametrize("rolls", [3, 12])
def test_rolls_that_share_an_error_agree_with_an_integral_over_it(rolls: int, share: float) -> None:
    """Given the shared error the rest are independent, so that one integral gives the exact figure."""
    own = np.sqrt(1.0 - share)
    lined = [roll(f"R{n}", own, np.sqrt(share)) for n in range(rolls)]

    def density(shared: float) -> float:
        ends = ((end - np.sqrt(share) * shared) / own for end in (-3.0, 2.2))
        low, high = map(norm.cdf, ends)
        return float(norm.pdf(shared) * (high - low) ** rolls)

    exact = 1.0 - quad(density, -9.0, 9.0, epsabs=1e-13, limit=400)[0]
    found = any_outside(lined, each([(-3.0, 2.2)] * rolls))
    assert abs(found.risk - exact) <= max(found.error, 1e-9)
    assert found.risk == pytest.approx(exact, rel=0.01)


def test_correlated_rolls_agree_with_scipy() -> None:
    """Four rolls with two shared errors, every pair correlated otherwise."""
    parts = [(0.8, 0.5), (-0.4, 0.9), (0.7, -0.6), (0.2, 1.1)]
    lined = [roll(f"R{n}", 0.6, *two) for n, two in enumerate(parts)]
    covariance = np.array([[one.covariance(two) for two in lined] for one in lined])
    low, high = np.array([-2.5, -1.9, -2.2, -3.0]), np.array([2.0, 2.4, 1.8, 2.1])
    u = np.sqrt(np.diag(covariance))
    inside = multivariate_normal(np.zeros(4), covariance).cdf(high * u, lower_limit=low * u)
    found = any_outside(lined, each(list(zip(low, high, strict=True))))
    assert found.risk == pytest.approx(1.0 - inside, rel=0.01)


def test_pair_of_two_rolls_agrees_with_an_integral_over_the_plane() -> None:
    """Three bounds on two errors: their covariance has no inverse."""
    lined, u = [roll("R1", 1.0), roll("R2", 0.5)], np.sqrt(1.25)
    bounds = [*each([(-2.0, 2.5), (-2.2, 1.9)]), Within(((1, 1.0), (0, -1.0)), -1.5, 1.2)]

    def density(first: float) -> float:
        low, high = max(-2.2 * 0.5, first - 1.5 * u), min(1.9 * 0.5, first + 1.2 * u)
        between = norm.cdf(max(high, low), scale=0.5) - norm.cdf(low, scale=0.5)
        return float(norm.pdf(first) * between)

    inside, _ = quad(density, -2.0, 2.5, limit=400)
    assert any_outside(lined, bounds).risk == pytest.approx(1.0 - inside, rel=0.005)


def test_same_bound_twice_is_one() -> None:
    """Wholly dependent results have the risk of one; nothing is counted twice."""
    lined = [Estimate(0.0, {}, np.array([0.2])), Estimate(0.0, {}, np.array([0.9]))]
    assert any_outside(lined, each([(-40.0, 2.0)] * 2)).risk == pytest.approx(norm.cdf(-2.0), rel=1e-12)


def test_exactly_known_sum_takes_no_part() -> None:
    """The reference itself, and rolls that fail by themselves need not be judged for their pair to count."""
    lined = [Estimate(0.0, {}, np.zeros(1)), roll("R2", 0.3, 0.4)]
    pair = Within(((1, 1.0), (0, -1.0)), -40.0, 2.0)
    assert any_outside(lined, [Within(((0, 1.0),), -1.0, 1.0), pair]).risk == pytest.approx(norm.cdf(-2.0))
    assert any_outside(lined, []).risk == 0.0


def line(rolls: int, shared: int, seed: int) -> tuple[list[Estimate], list[Within]]:
    """Return a line with random errors, its rolls and its pairs bounded."""
    rng = np.random.default_rng(seed)
    lined = [
        Estimate(0.0, {f"R{n}": rng.normal(0.0, 0.5, 4)}, rng.normal(0.0, 0.3, shared)) for n in range(rolls)
    ]
    pairs = [Within(((n + 1, 1.0), (n, -1.0)), -4.0, rng.uniform(2.0, 4.0)) for n in range(rolls - 1)]
    return lined, [*each([(-4.0, rng.uniform(2.0, 4.0)) for _ in range(rolls)]), *pairs]


@pytest.mark.parametrize(("rolls", "shared"), [(12, 3), (200, 6)])
def test_line_with_pairs_agrees_with_plain_draws(rolls: int, shared: int) -> None:
    """By either order of the errors, within three times the scatter of both."""
    lined, bounds = line(rolls, shared, 1)
    rng, trials = np.random.default_rng(2), 40_000
    own = np.array([np.linalg.norm(one.own[f"R{n}"]) for n, one in enumerate(lined)])
    drawn = rng.standard_normal((trials, shared)) @ np.array([one.shared for one in lined]).T
    drawn += own * rng.standard_normal((trials, rolls))
    outside = np.zeros(trials, dtype=bool)
    for bound in bounds:
        value = sum(factor * drawn[:, index] for index, factor in bound.of)
        whole = lined[bound.of[0][0]]
        for index, _ in bound.of[1:]:
            whole = whole - lined[index]
        outside |= (value < bound.low * whole.u) | (value > bound.high * whole.u)
    share = float(outside.mean())
    found = any_outside(lined, bounds)
    assert abs(found.risk - share) <= found.error + 3.0 * np.sqrt(share * (1.0 - share) / trials)
    assert found.error < 0.05 * found.risk


def test_figure_does_not_depend_on_the_sign_a_machine_gives_an_error() -> None:
    """Another library may turn the sign of a shared error or of a block's; the figure stays."""
    for rolls in (12, 200):
        lined, bounds = line(rolls, 3, 4)
        turned = [
            Estimate(0.0, {name: -part for name, part in one.own.items()}, one.shared * [1.0, -1.0, -1.0])
            for one in lined
        ]
        once, again = (any_outside(some, bounds).risk for some in (lined, turned))
        assert once == pytest.approx(again, rel=1e-12)
        assert once == any_outside(lined, bounds).risk


def test_thousand_rolls_take_less_than_twice_the_time_of_a_short_line() -> None:
    """Of 2,000 bounds none can be left out; fewer points are drawn for them than for 250 bounds."""
    few, many = line(125, 20, 5), line(1000, 20, 5)
    of_few = processor_time(lambda: any_outside(*few))
    assert processor_time(lambda: any_outside(*many)) < 2.0 * of_few
    assert 0.9 < any_outside(*many).risk <= 1.0


def test_estimates_of_one_block_share_its_errors() -> None:
    """The same error twice is outside as often as once; at a correlation of 1/2 as Sheppard found."""
    nothing = np.zeros(0)
    one, half = np.array([1.0, 0.0]), np.array([0.5, np.sqrt(0.75)])
    same = [Estimate(0.0, {"roll R2": one}, nothing)] * 2
    both = [Within(((index, 1.0),), -1.0, 1.0) for index in range(2)]
    assert any_outside(same, both).risk == pytest.approx(2.0 * norm.cdf(-1.0), rel=1e-3)
    related = [Estimate(0.0, {"roll R2": one}, nothing), Estimate(0.0, {"roll R2": half}, nothing)]
    positive = [Within(((index, 1.0),), 0.0, np.inf) for index in range(2)]
    quadrant = 0.25 + np.arcsin(0.5) / (2.0 * np.pi)
    assert any_outside(related, positive).risk == pytest.approx(1.0 - quadrant, rel=5e-3)
