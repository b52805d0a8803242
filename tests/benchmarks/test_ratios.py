"""Costs that may not creep up, as ratios with room to spare: a busy machine must not fail a test."""

from tests.benchmarks.bench_issue import (
    STUDY_LARGE,
    STUDY_SMALL,
    growth,
    issue_times,
    solve_times,
    study_times,
)


def test_issuing_costs_little_beside_its_libraries() -> None:
    """A certificate of twelve rolls takes a few times what loading the drawing libraries takes."""
    times = issue_times(1)
    assert times["issue"] < 6.0 * times["parts"]


def test_solving_grows_less_than_quadratically() -> None:
    """From 200 to 2,000 rolls; a dense network would grow with the cube."""
    assert growth(solve_times(1)) < 1.8


def test_studying_grows_less_than_quadratically() -> None:
    """From 50 to 400 rolls: pairs of rolls are many, but cost next to nothing each."""
    assert growth(study_times(), STUDY_LARGE / STUDY_SMALL) < 1.8
