"""Costs that may not creep up, as ratios with room to spare: a busy machine must not fail a test."""

from tests.benchmarks.bench_issue import growth, issue_times, solve_times


def test_issuing_costs_little_beside_its_libraries() -> None:
    """A certificate of twelve rolls takes a few times what loading the drawing libraries takes."""
    times = issue_times(1)
    assert times["issue"] < 6.0 * times["parts"]


def test_solving_grows_less_than_quadratically() -> None:
    """From 200 to 2,000 rolls; a dense network would grow with the cube."""
    assert growth(solve_times(1)) < 1.8
