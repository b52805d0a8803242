"""Targets: where a roll must stand cold. Growth of 0.27 mm over 2.7 m is 0.1 mm/m."""

from dataclasses import replace

import pytest

from certgen.assessment.rules import level_target, parallel_target
from certgen.network.solution import solve_survey
from certgen.network.uncertainty import budget, coverage_factor, expand
from certgen.survey.survey import BearingGrowth, Coverage, Growth, Reference, StandardUncertainty
from tests.simulate.records import UNCERTAINTY, levelled, read, roll, setup, survey, tilt

DRIVE_RISES = Growth(drive=BearingGrowth(up_mm=0.27))
DRIVE_RUNS_DOWNSTREAM = Growth(drive=BearingGrowth(downstream_mm=0.27))
OPERATOR_RUNS_DOWNSTREAM = Growth(operator=BearingGrowth(downstream_mm=0.27))


def test_level_target_is_low_where_the_bearing_rises():
    """A drive bearing that will rise starts low."""
    assert level_target(roll("R2", growth=DRIVE_RISES)) == pytest.approx(-0.1)


@pytest.mark.parametrize(
    ("growth", "target"), [(DRIVE_RUNS_DOWNSTREAM, -0.1), (OPERATOR_RUNS_DOWNSTREAM, 0.1), (DRIVE_RISES, 0.0)]
)
def test_parallel_target_starts_against_the_growth(growth, target):
    """Against a reference that does not turn, the target is minus the growth's slope."""
    grows = roll("R2", growth=growth)
    assert parallel_target(survey((roll("R1"), grows)), grows) == pytest.approx(target)


def test_parallel_target_follows_a_reference_that_turns():
    """A roll that does not grow must point where the reference will; one that grows alike needs nothing."""
    first, still, alike = (
        roll("R1", growth=DRIVE_RUNS_DOWNSTREAM),
        roll("R2"),
        roll("R3", growth=DRIVE_RUNS_DOWNSTREAM),
    )
    line = survey((first, still, alike))
    assert [parallel_target(line, one) for one in line.rolls] == pytest.approx([0.0, 0.1, 0.0])


def test_parallel_target_against_an_offset_line_is_the_roll_alone():
    """Monuments do not grow."""
    grows = roll("R2", growth=DRIVE_RUNS_DOWNSTREAM)
    line = replace(
        survey((roll("R1", growth=DRIVE_RUNS_DOWNSTREAM), grows)), reference=Reference(None, ("M1", "M2"))
    )
    assert parallel_target(line, grows) == pytest.approx(-0.1)


def test_target_without_growth_is_plain_zero():
    """Not minus zero, which would print a sign."""
    still = roll("R2")
    line = survey((roll("R1"), still))
    assert [str(level_target(still)), str(parallel_target(line, still))] == ["0.0", "0.0"]


def test_coverage_factor_is_the_stated_one():
    """A stated k is taken as it stands."""
    assert coverage_factor(Coverage(2.5, None)) == 2.5


@pytest.mark.parametrize(
    ("probability", "dof", "k"),
    [
        (0.95, 10.0, 2.23),
        (0.9545, 20.0, 2.13),
        (0.99, 16.0, 2.92),
        (0.9973, 5.0, 5.51),
        (0.95, float("inf"), 1.96),
    ],
)
def test_coverage_factor_agrees_with_the_guides_table(probability, dof, k):
    """JCGM 100:2008, Table G.2, to the two places printed."""
    assert round(coverage_factor(Coverage(None, probability), dof), 2) == k


def test_coverage_without_factor_and_probability_is_refused():
    """One of both must be stated."""
    with pytest.raises(ValueError, match="k or a probability"):
        coverage_factor(Coverage(None, None))


def test_growth_known_by_few_observations_keeps_their_degrees_of_freedom() -> None:
    """Bearings known to 0.03 and 0.04 mm from 4 and 9: 0.05 mm in all, by Welch and Satterthwaite (G.4.1)."""
    stated = [StandardUncertainty(u, "normal", "", dof) for u, dof in ((0.03, 4.0), (0.04, 9.0))]
    ends = [BearingGrowth(up_mm=0.3, up_u=one) for one in stated]
    rolls = (roll("R1"), roll("R2", growth=Growth(*ends)))
    level = levelled(tilt("R1", 0.0), tilt("R1", 0.0, turned=True), tilt("R2", 0.1))
    solved = solve_survey(survey(rolls, level=level)).level
    assert solved is not None
    found = budget(solved.network, solved.judged["R2", "as_found"], UNCERTAINTY)
    (share,) = (one for one in found if one.source == "growth")
    assert share.u == pytest.approx(0.05 / 2.7, rel=1e-9)
    assert share.dof == pytest.approx(0.05**4 / (0.03**4 / 4.0 + 0.04**4 / 9.0), rel=1e-9)


def test_growth_of_two_rolls_are_two_estimates_though_stated_alike() -> None:
    """Error of R2 against a reference that grows as well: c₁²/ν + c₂²/ν, so twice the degrees (G.4.1)."""
    grows = Growth(drive=BearingGrowth(downstream_u=StandardUncertainty(0.3, "normal", "", 5.0)))
    rolls = (roll("R1", growth=grows), roll("R2", growth=grows))
    taken = survey(rolls, (setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.1)),))
    solved = solve_survey(taken).parallel
    (share,) = (
        one
        for one in budget(solved.network, solved.judged["R2", "as_found"], UNCERTAINTY)
        if one.source == "growth"
    )
    assert share.dof == pytest.approx(10.0, rel=1e-9)
    assert share.said == StandardUncertainty(0.3 / 2.7, "normal", "", 5.0)  # one line of the budget as before
    found = expand(solved.network, solved.judged["R2", "as_found"], UNCERTAINTY)
    assert found.dof == pytest.approx(10.0 * (found.u / share.u) ** 4, rel=1e-9)
