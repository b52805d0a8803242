"""The proof of a network: redundancy, closures and suspects."""

from dataclasses import replace
from math import log

import numpy as np
import pytest

from certgen.network.equations import Label, Observation, Unknown, roll_block
from certgen.network.least_squares import solve
from certgen.network.reliability import residuals
from certgen.network.solution import solve_survey
from certgen.survey.survey import Reference, RollReading, Survey
from tests.simulate.lines import draw
from tests.simulate.noise import noisy
from tests.simulate.records import UNCERTAINTY, levelled, read, roll, setup, survey, tilt

SPAN_M = 2.1
SIGMA = np.sqrt(0.003**2 + 0.008**2 + 0.010**2)


def surveyed(seed: int) -> Survey:
    """Return a noisy survey of an invented line."""
    rng = np.random.default_rng(seed)
    return noisy(rng, draw(rng, Reference("R1")).survey(rng))


def blundered(survey: Survey, setup_at: int, reading_at: int, by_mm: float) -> tuple[Survey, RollReading]:
    """Return the survey with one drive-side reading off by an amount, and that reading."""
    setups = list(survey.setups)
    readings = list(setups[setup_at].readings)
    wrong = replace(readings[reading_at], drive_mm=readings[reading_at].drive_mm + by_mm)
    readings[reading_at] = wrong
    setups[setup_at] = replace(setups[setup_at], readings=tuple(readings))
    return replace(survey, setups=tuple(setups)), wrong


@pytest.mark.parametrize("seed", range(4))
def test_redundancy_sums_to_the_degrees_of_freedom(seed):
    """In both networks, and every number lies between 0 and 1."""
    solved = solve_survey(surveyed(seed))
    for proof in (solved.parallel.quality, solved.level.quality):
        assert proof.redundancy.sum() == pytest.approx(proof.dof, abs=1e-9)
        assert proof.redundancy.min() > -1e-12
        assert proof.redundancy.max() < 1.0 + 1e-12


def test_residuals_say_nothing_without_redundancy():
    """Two rolls read once: no degrees of freedom, no p-value, no w, no suspect."""
    once = setup("A", {}, read("R1", 0.0, 0.1), read("R2", 0.0, 0.4))
    proof = solve_survey(survey((roll("R1"), roll("R2")), (once,))).parallel.quality
    assert (proof.dof, proof.p_value, proof.suspects) == (0, None, ())
    assert np.isnan(proof.w).all()


def test_closure_in_one_setup_is_the_difference_of_the_readings():
    """Re-read from the same setup: the closure is the difference of slopes, u = 2 sigma over the span."""
    twice = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.10), read("R2", 1.0, 1.13))
    (closure,) = solve_survey(survey((roll("R1"), roll("R2")), (twice,))).parallel.quality.closures
    assert closure.difference == pytest.approx(0.03 / SPAN_M, rel=1e-9)
    assert closure.u == pytest.approx(2.0 * SIGMA / SPAN_M, rel=1e-9)
    assert closure.left == pytest.approx(1.0)
    assert closure.checked


def test_closure_of_an_adjusted_roll_needs_the_same_round():
    """As left minus as found of a roll that was moved is a change, no closure; of one that cannot, it is."""
    seen = setup(
        "A",
        {},
        *(read(name, 0.0, 0.1, which) for name in ("R1", "R2", "R3") for which in ("as_found", "as_left")),
    )
    rolls = (roll("R1"), roll("R2"), roll("R3", adjustable="none"))
    closures = solve_survey(survey(rolls, (seen,))).parallel.quality.closures
    assert [closure.label.roll for closure in closures] == ["R1", "R3"]
    assert {closure.label.round for closure in closures} == {"as_left"}


def test_closure_across_setups_carries_the_tie():
    """Over its u, a closure is the raw misclosure over the u of readings and tie together."""
    monuments = {"M1": 0.0, "M2": 0.0}
    setups = (
        setup("A", monuments, read("R1", 0.0, 0.0), read("R2", 0.0, 0.10)),
        setup("B", monuments, read("R2", 0.0, 0.13)),
    )
    line = survey((roll("R1"), roll("R2")), setups, {"M1": 0.0, "M2": 4000.0})
    closure, *monuments_again = solve_survey(line).parallel.quality.closures
    assert [again.label.monument for again in monuments_again] == ["M1", "M2"]
    tie = 2.0 * np.sqrt(0.003**2 + 0.008**2) / 4.0
    raw, raw_u = 0.03 / SPAN_M, np.hypot(2.0 * SIGMA / SPAN_M, tie)
    assert closure.difference / closure.u == pytest.approx(raw / raw_u, rel=1e-9)
    assert closure.difference < raw  # the re-reading has pulled at the tie by the rest


def test_monuments_that_alone_hold_a_setup_close_whatever_was_read():
    """Setup B sees two monuments and one roll of its own: 5 mm wrong at a monument leaves nothing to see."""
    taken = [
        solve_survey(
            survey(
                (roll("R1"), roll("R2"), roll("R3")),
                (
                    setup("A", {"M1": 0.0, "M2": 0.0}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.1)),
                    setup("B", {"M1": 0.0, "M2": wrong}, read("R3", 0.0, 0.1), *again),
                ),
                {"M1": 0.0, "M2": 4000.0},
            )
        ).parallel.quality.closures
        for wrong, again in ((5.0, ()), (0.05, (read("R2", 0.0, 0.1),)))
    ]
    alone, checked = taken
    assert [closure for closure in alone if closure.checked] == []
    assert [closure.checked for closure in checked] == [True] * 3
    assert all(0.05 < closure.left < 1.0 for closure in checked)


@pytest.mark.parametrize("seed", range(5))
def test_suspect_is_the_planted_blunder(seed):
    """A reading 0.5 mm off is named first, with its setup, roll and round."""
    line, wrong = blundered(many_times(seed), 0, 4, 0.5)
    first = solve_survey(line).parallel.quality.suspects[0]
    assert (first.label.setup, first.label.roll, first.label.round) == ("A", wrong.roll, wrong.round)


def many_times(seed: int) -> Survey:
    """Return rolls that were each read three times from one setup."""
    rng = np.random.default_rng(seed)
    names = ("R1", "R2", "R3")
    seen = setup("A", {}, *(read(name, 0.0, 0.1) for name in names for _ in range(3)))
    return noisy(rng, survey(tuple(map(roll, names)), (seen,)))


def test_suspect_names_the_other_end_of_its_seating():
    """Only the difference of both ends counts: one end is named, the other stands beside it."""
    line, _ = blundered(many_times(7), 0, 4, 0.5)
    first, *_ = solve_survey(line).parallel.quality.suspects
    assert (first.label.side, [other.side for other in first.others]) == ("operator", ["drive"])


def test_likelihood_of_a_candidate_is_against_the_best_one():
    """The best has 1, the others exp((w² - w²max)/2), and none under 1 in 20 is a candidate."""
    several = 0
    for seed in range(6):
        line, _ = blundered(surveyed(seed), 0, 4, 0.1)
        for suspect in solve_survey(line).parallel.quality.suspects:
            best = max(abs(one.w) for one in suspect.candidates)
            several += len({round(abs(one.w), 3) for one in suspect.candidates}) > 1
            for one in suspect.candidates:
                assert one.likelihood == pytest.approx(np.exp((one.w**2 - best**2) / 2.0), rel=1e-6)
                assert 0.05 <= one.likelihood <= 1.0
    assert several


def test_suspect_is_off_by_the_planted_blunder():
    """Told by the operator side, a drive reading 0.5 mm too large is an operator reading 0.5 mm too small."""
    line, _ = blundered(many_times(8), 0, 4, 0.5)
    first, *_ = solve_survey(line).parallel.quality.suspects
    assert first.blunder == pytest.approx(-0.5, abs=0.08)
    assert first.w > 0.0  # fitted minus read


def test_smallest_blunder_that_would_be_found_is_4_13_times_its_uncertainty():
    """Baarda's 4.13 (0.1 % risk, 80 % power): z(0.9995) + z(0.8) = 3.2905 + 0.8416.

    One end of four readings of a difference, each with variance 2 s²: u² = 2 s² (1 + 1/3).
    """
    seen = setup("A", {}, read("R1", 0.0, 0.0), *(read("R2", 0.0, drive) for drive in (0.1, 0.1, 0.1, 0.9)))
    (suspect,) = solve_survey(survey((roll("R1"), roll("R2")), (seen,))).parallel.quality.suspects
    u = np.sqrt((0.003**2 + 0.008**2 + 0.010**2) * 8.0 / 3.0)
    assert suspect.detectable == pytest.approx(4.1321 * u, rel=1e-4)
    assert (abs(suspect.blunder), abs(suspect.w)) == pytest.approx((0.8, 0.8 / u), rel=1e-6)
    one = suspect.candidates[0]
    assert (one.u, one.likelihood) == pytest.approx((u, 1.0), rel=1e-6)


def test_suspects_are_rare_in_sound_readings():
    """At a risk of 0.001 per reading, forty sound surveys name fewer than one in a hundred readings."""
    proofs = [solve_survey(surveyed(seed)).parallel.quality for seed in range(40)]
    named = sum(len(proof.suspects) for proof in proofs)
    assert named < 0.01 * sum(proof.observations for proof in proofs)


def test_suspect_of_the_level_is_the_planted_blunder():
    """A level reading 0.2 mm/m off among four on one roll is named first, with its side."""
    taken = [tilt("R1", 0.1) for _ in range(4)]
    taken[2] = replace(taken[2], slope_mm_per_m=0.3, where="wrong")
    line = survey((roll("R1"),), level=levelled(*taken), uncertainty=UNCERTAINTY)
    assert solve_survey(line).level.quality.suspects[0].label.where == "wrong"


def test_each_suspect_is_tested_with_all_before_it_set_aside() -> None:
    """Six readings of one slope, three of them wrong: each against the mean of those still taken for right.

    With 0.010 mm/m each, a reading less the mean of m others has 0.010 √(1 + 1/m).
    """
    slopes = (0.3, 0.9, 0.3, -0.1, 0.5, 0.3)
    found = solve_survey(survey((roll("R1"),), level=levelled(*(tilt("R1", one) for one in slopes)))).level
    assert found is not None
    wrong, right = [0.9, -0.1, 0.5], list(slopes)
    assert [slopes[one.index] for one in found.quality.suspects] == wrong
    for value, suspect in zip(wrong, found.quality.suspects, strict=True):
        right.remove(value)
        off = value - sum(right) / len(right)
        u = 0.010 * (1.0 + 1.0 / len(right)) ** 0.5
        assert (suspect.blunder, suspect.w) == pytest.approx((off, -off / u), rel=1e-6)
        assert suspect.detectable == pytest.approx(4.1321 * u, rel=1e-4)


def test_no_more_than_twelve_suspects_are_named() -> None:
    """More say that the survey as a whole does not fit: of thirteen rolls with one wrong reading, twelve."""
    names = [f"R{number}" for number in range(1, 14)]
    taken = [tilt(name, slope) for name in names for slope in (0.1, 0.1, 0.1, 0.5)]
    found = solve_survey(survey(tuple(map(roll, names)), level=levelled(*taken))).level
    assert found is not None
    assert len(found.quality.suspects) == 12


@pytest.mark.parametrize(("odds", "candidates"), [(19.0, 2), (21.0, 1)])
def test_candidates_are_at_least_a_twentieth_as_likely_as_the_best(odds: float, candidates: int) -> None:
    """Three readings 0, e and d of one slope, in units of u; the square of a test is 3/2 of its residual's.

    So w² of the third less that of the first is ((2d - e)² - (d + e)²) / 6 = d (d - 2e) / 2: it is 2 ln odds.
    """
    d = 10.0
    e = (d - 4.0 * log(odds) / d) / 2.0
    taken = [replace(tilt("R1", 0.3 + 0.010 * x), where=f"level[{x}]") for x in (0.0, e, d)]
    found = solve_survey(survey((roll("R1"),), level=levelled(*taken))).level
    assert found is not None
    (suspect,) = found.quality.suspects
    assert suspect.w == pytest.approx(-(2.0 * d - e) / 3.0 * 1.5**0.5, rel=1e-6)
    assert [one.likelihood for one in suspect.candidates] == pytest.approx([1.0, 1.0 / odds][:candidates])


def test_blunder_is_the_residual_over_its_redundancy():
    """Three equal readings of one slope, one of them 3 too large: found as 3, with u of the root of 3/2."""
    unknown = Unknown("slope", "R1", "as_found", roll_block("R1"))
    found = residuals(solve([Observation({unknown: 1.0}, value, 1.0, Label("level")) for value in (0, 0, 3)]))
    assert found.redundancy == pytest.approx([2.0 / 3.0] * 3)
    assert found.blunder(2) == pytest.approx((3.0, np.sqrt(1.5)))
    assert found.blunder(0)[0] == pytest.approx(-1.5)


@pytest.mark.parametrize(("redundancy", "tested"), [(1.1e-6, True), (0.9e-6, False)])
def test_reading_of_hardly_any_redundancy_is_not_tested(redundancy: float, tested: bool) -> None:
    """One reading beside another so coarse that a millionth of its error would show in the first."""
    unknown, coarse = Unknown("slope", "R1", "as_found", roll_block("R1")), (1.0 / redundancy - 1.0) ** 0.5
    rows = [Observation({unknown: 1.0}, value, s, Label("level")) for value, s in ((0.0, 1.0), (3.0, coarse))]
    found = residuals(solve(rows))
    assert found.redundancy == pytest.approx([redundancy, 1.0 - redundancy], rel=1e-6)
    assert list(np.isfinite(found.w)) == list(np.isfinite(found.detectable)) == [tested, True]
