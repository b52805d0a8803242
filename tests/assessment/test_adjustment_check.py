"""Reported moves against what was measured: what is true agrees at the nominal rate, what is not differs."""

from dataclasses import replace

import numpy as np
import pytest

from certgen.assessment.assess import assess
from certgen.moves.after_moves import adjustment_checks, disagreements
from certgen.network.solution import solve_survey
from certgen.results.cautions import cautions
from certgen.results.survey_results import survey_results
from certgen.survey.survey import Adjustment, Reference, Survey
from tests.simulate.lines import TrueLine, draw
from tests.simulate.noise import noisy
from tests.simulate.records import levelled, read, roll, setup, survey, tilt

LINES = 40


def true_moves(line: TrueLine) -> tuple[Adjustment, ...]:
    """Return what was really done, all of it at the drive side."""
    found = []
    for one in line.rolls:
        metres = one.record.bearings_mm / 1000.0
        up, along = (metres * (way["as_left"] - way["as_found"]) for way in (one.level, one.parallel))
        found.append(Adjustment(one.record.id, "drive", up, along))
    return tuple(made for made in found if made.roll != "R1")


def test_true_reports_agree_at_the_nominal_rate() -> None:
    """With k = 2, 4.55 % of true reports differ; within four standard deviations of that."""
    differing = total = 0
    for seed in range(LINES):
        rng = np.random.default_rng(seed)
        line = draw(rng, Reference("R1"))
        taken = replace(noisy(rng, line.survey(rng)), adjustments=true_moves(line))
        assessment = assess(solve_survey(taken))
        for index in range(1, len(line.rolls)):
            found = adjustment_checks(assessment, index)
            assert found.keys() == {"level", "parallel"}
            differing += sum(check.result == "differs" for check in found.values())
            total += len(found)
    expected = 0.0455 * total
    assert abs(differing - expected) < 4.0 * expected**0.5


@pytest.mark.parametrize("step", [0.02, 0.05, 0.1])
def test_moves_read_coarsely_rarely_seem_to_differ_where_the_read_out_is_stated(step: float) -> None:
    """Rounded to a step that outweighs the readings; unstated, the same moves differ far more often."""
    differing = {step: 0, None: 0}
    total = 0
    for seed in range(LINES):
        rng = np.random.default_rng(seed)
        line = draw(rng, Reference("R1"))
        taken = noisy(rng, line.survey(rng))
        for read_to in differing:
            dial = np.random.default_rng(1000 + seed)
            made = tuple(_as_read(dial, one, step, read_to) for one in true_moves(line))
            assessment = assess(solve_survey(replace(taken, adjustments=made)))
            found = [one for i in range(1, 9) for one in adjustment_checks(assessment, i).values()]
            differing[read_to] += sum(check.result == "differs" for check in found)
        total += len(found)
    most = 0.05 + 3.0 * (0.05 * 0.95 / total) ** 0.5
    assert differing[step] / total <= most
    assert step < 0.05 or differing[None] / total > most


def _as_read(dial: np.random.Generator, one: Adjustment, step: float, read_to: float | None) -> Adjustment:
    """Return a move as a dial shows it that stood anywhere before: two read-outs, each to its step."""
    before = dial.uniform(0.0, step, 2)
    up, along = (
        step * (round((moved + stood) / step) - round(stood / step))
        for moved, stood in zip((one.up_mm, one.downstream_mm), before, strict=True)
    )
    return replace(one, up_mm=up, downstream_mm=along, read_to_mm=read_to)


def test_read_out_of_each_move_adds_a_sixth_of_its_step_squared() -> None:
    """Two read-outs, each within half a step: u² = step²/6, both bearings added; the level's move apart."""
    coarse = (Adjustment("R2", "drive", None, -0.27, 0.06), Adjustment("R2", "operator", None, 0.27, 0.03))
    plain = adjustment_checks(
        assess(solve_survey(adjusted(*(replace(m, read_to_mm=None) for m in coarse)))), 1
    )
    found = adjustment_checks(assess(solve_survey(adjusted(*coarse))), 1)
    added = (0.06**2 + 0.03**2) / 6.0 / 2.7**2
    assert found["parallel"].u_moves_mm_per_m == pytest.approx(added**0.5)
    assert found["parallel"].u_mm_per_m ** 2 == pytest.approx(plain["parallel"].u_mm_per_m ** 2 + added)
    assert found["parallel"].U_mm_per_m == pytest.approx(2.0 * found["parallel"].u_mm_per_m)
    assert (plain["parallel"].u_moves_mm_per_m, found["level"].u_moves_mm_per_m) == (None, None)


def adjusted(*made: Adjustment) -> Survey:
    """Return R2 found 0.2 mm/m off both ways and left true, with these reports."""
    rolls = (roll("R1"), roll("R2", adjustable="both"))
    readings = (read("R2", 0.0, 0.42), read("R2", 0.0, 0.0, "as_left"))
    seen = setup("A", {}, read("R1", 0.0, 0.0), *readings)
    level = levelled(tilt("R1", 0.0), tilt("R2", 0.2), tilt("R2", 0.0, in_round="as_left"))
    return replace(survey(rolls, (seen,), level=level), adjustments=made)


@pytest.mark.parametrize(
    ("made", "level", "parallel"),
    [
        ((Adjustment("R2", "drive", -0.54, -0.54),), "agrees", "agrees"),
        ((Adjustment("R2", "operator", 0.54, 0.54),), "agrees", "agrees"),
        (
            (Adjustment("R2", "operator", 0.27, 0.3), Adjustment("R2", "drive", -0.27, -0.24)),
            "agrees",
            "agrees",
        ),
        ((Adjustment("R2", "drive", None, -0.54),), "differs", "agrees"),
        ((Adjustment("R2", "drive", 0.54, -0.3),), "differs", "differs"),
    ],
    ids=["drive", "operator", "both", "parallel only", "wrong"],
)
def test_report_is_held_against_the_change(made: tuple[Adjustment, ...], level: str, parallel: str) -> None:
    """Moves of both bearings add up; what was not reported counts as not moved; a wrong sign is seen."""
    found = adjustment_checks(assess(solve_survey(adjusted(*made))), 1)
    assert (found["level"].result, found["parallel"].result) == (level, parallel)


def test_check_says_what_was_predicted_and_what_was_measured() -> None:
    """0.2 mm/m and 0.4 mm at the drive side over 2.7 m."""
    check = adjustment_checks(assess(solve_survey(adjusted(Adjustment("R2", "drive", None, -0.4)))), 1)[
        "parallel"
    ]
    assert check.reported_mm == (0.0, -0.4)
    assert check.predicted_mm_per_m == pytest.approx(0.2 - 0.4 / 2.7)
    assert check.measured_mm_per_m == pytest.approx(0.0)
    assert check.difference_mm_per_m == pytest.approx(0.4 / 2.7 - 0.2)


def test_uncertainty_of_the_check_is_that_of_the_change() -> None:
    """What both rounds share (the direction of the one setup) cancels in the difference."""
    assessment = assess(solve_survey(adjusted(Adjustment("R2", "drive", 0.0, 0.0))))
    check, aspect = adjustment_checks(assessment, 1)["parallel"], assessment.rolls[1].parallel
    apart = np.hypot(aspect.as_found.u_mm_per_m, aspect.as_left.u_mm_per_m)
    assert check.u_mm_per_m == aspect.change.u_mm_per_m < apart
    assert check.U_mm_per_m == pytest.approx(2.0 * check.u_mm_per_m)


def test_nothing_is_checked_without_a_report_or_readings_of_both_rounds() -> None:
    """No report: nothing. Read once: nothing to hold it against."""
    assert adjustment_checks(assess(solve_survey(adjusted())), 1) == {}
    once = replace(adjusted(Adjustment("R2", "drive", 0.1)), level=levelled(tilt("R2", 0.2)))
    assert adjustment_checks(assess(solve_survey(once)), 1).keys() == {"parallel"}


def test_check_is_in_the_results() -> None:
    """By roll and aspect; null without a report."""
    first, second = survey_results(assess(solve_survey(adjusted(Adjustment("R2", "drive", -0.54)))))["rolls"]
    assert first["adjustment_check"] is None
    assert second["adjustment_check"]["level"]["result"] == "agrees"
    assert second["adjustment_check"]["level"]["reported_mm"] == {"operator": 0.0, "drive": -0.54}


def test_disagreement_is_a_warning_at_the_report() -> None:
    """Named with its size; nothing is said where all agrees."""
    wrong = assess(solve_survey(adjusted(Adjustment("R2", "drive", None, -0.54))))
    (found,) = disagreements(wrong)
    assert (found.severity, found.where) == ("warning", "adjustments[0]")
    assert "R2 level" in found.message
    right = assess(solve_survey(adjusted(Adjustment("R2", "drive", -0.54, -0.54))))
    assert list(disagreements(right)) == []
    assert found in cautions(wrong)


def test_disagreement_is_told_by_its_size_at_the_first_report_of_its_roll() -> None:
    """0.54 mm over 2.7 m are the 0.2 mm/m that were taken out: 0.27 mm more or less are 0.1 mm/m."""
    for way in (1.0, -1.0):
        made = (
            Adjustment("R1", "drive", 0.0),
            Adjustment("R2", "drive", None, -0.44),
            Adjustment("R2", "drive", None, -0.1 - 0.27 * way),
        )
        found = {one.message: one for one in disagreements(assess(solve_survey(adjusted(*made))))}
        level, parallel = found.values()
        assert (parallel.where, level.where) == ("adjustments[1]", "adjustments[1]")
        assert "R2 parallel" in parallel.message
        assert "differs from what was measured by 0.1000 mm/m" in parallel.message
        # only what was moved in that direction had a read-out to be stated
        assert "read_to" in parallel.hint
        assert "read_to" not in level.hint
