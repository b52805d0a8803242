"""Repeatability from repeated readings: pooled scatter, degrees of freedom, what takes part.

Expected figures are computed here from the readings as they are written, by numpy: the pooled variance is the
mean of the variances of the single ends, weighted by their degrees of freedom (JCGM 100:2008, 4.2 and H.3.6;
ISO/TR 13587 and any textbook on analysis of variance).
"""

from math import inf

import numpy as np
import pytest

from certgen.assessment.assess import assess
from certgen.network.solution import solve_survey
from certgen.network.uncertainty import Share, budget
from certgen.survey import read_bytes
from certgen.survey.survey import Survey
from tests.survey.sound import changed, findings, survey

FROM = ("  repeatability: {standard: 0.01}\n", "  repeatability: {from: repeats}\n")
# one laser reading of three and two readings; the end read once adds no degree of freedom
DRIVE = [-0.40, -0.37, -0.41]
OPERATOR = [0.00, 0.02]
HEIGHTS = ([0.10, 0.13, 0.11, 0.12], [0.20, 0.19])
LASER = ("      R2: {operator: 0, drive: -0.4}\n", f"      R2: {{operator: {OPERATOR}, drive: {DRIVE}}}\n")
LEVEL = (
    "    R3: {operator: 0.1, drive: 0.2}\n",
    f"    R3: {{operator: {HEIGHTS[0]}, drive: {HEIGHTS[1]}}}\n",
)
# a second seating of R3 with wild repeats, set aside
ASIDE = (
    "      R3: {operator: 0, drive: 0.2}\n",
    "      R3: [{operator: 0, drive: 0.2},\n"
    "           {operator: [0, 0.9], drive: [1, 4, 7], exclude: {reason: target slipped}}]\n",
)


def pooled(*ends: list[float]) -> tuple[float, int]:
    """Return the pooled variance of groups and its degrees of freedom."""
    dofs = [len(end) - 1 for end in ends]
    variances = [float(np.var(end, ddof=1)) if dof else 0.0 for end, dof in zip(ends, dofs, strict=True)]
    return float(np.average(variances, weights=dofs)), sum(dofs)


def shares(taken: Survey, roll: str) -> dict[str, Share]:
    """Return the budget of the parallel slope of a roll as found."""
    aspect = solve_survey(taken).parallel
    assert aspect is not None
    found = budget(aspect.network, aspect.slopes[roll, "as_found"], taken.uncertainty)
    return {share.source: share for share in found}


def test_scatter_of_one_reading_is_the_pooled_one() -> None:
    """Three and two readings of the two ends: three degrees of freedom, not four and not five."""
    stated = survey(FROM, LASER).uncertainty.repeatability_mm
    variance, dof = pooled(DRIVE, OPERATOR)
    assert stated is not None
    assert (stated.value**2, stated.dof) == (pytest.approx(variance, rel=1e-12), 3.0)
    assert dof == 3
    assert stated.stated == "scatter of repeated readings, 3 degrees of freedom"


def test_heights_over_a_level_plane_are_pooled_with_the_laser() -> None:
    """Two more ends of four and two readings: seven degrees of freedom in all."""
    stated = survey(FROM, LASER, LEVEL).uncertainty.repeatability_mm
    variance, dof = pooled(DRIVE, OPERATOR, *HEIGHTS)
    assert stated is not None
    assert (stated.value**2, stated.dof) == (pytest.approx(variance, rel=1e-12), 7.0)
    assert dof == 7


def test_readings_set_aside_are_not_pooled() -> None:
    """Repeats of metres in a reading that takes no part leave the scatter as it was."""
    assert survey(FROM, LASER, ASIDE).uncertainty.repeatability_mm == (
        survey(FROM, LASER).uncertainty.repeatability_mm
    )


def test_scatter_does_not_hang_on_the_sign_of_the_readings() -> None:
    """A crew that stood the other way round repeats as well as any."""
    turned = ("positive: {roll: downstream", "positive: {roll: upstream")
    assert survey(FROM, LASER, turned).uncertainty.repeatability_mm == (
        survey(FROM, LASER).uncertainty.repeatability_mm
    )


def test_repeated_reading_is_its_mean_with_less_scatter() -> None:
    """The mean of n readings has the pooled variance over n at that end (4.2.3), single ends the whole."""
    taken = survey(FROM, LASER)
    (seen,) = (r for r in taken.setups[0].readings if (r.roll, r.round) == ("R2", "as_found"))
    assert (seen.operator_mm, seen.drive_mm) == (pytest.approx(0.01), pytest.approx(-1.18 / 3.0))
    assert seen.repeats == (2, 3)
    variance, _ = pooled(DRIVE, OPERATOR)
    span_m = 1.6
    # R2's own two ends, and both ends of the reference, which were read once each
    expected = variance * (1.0 / 2.0 + 1.0 / 3.0 + 1.0 + 1.0) / span_m**2
    found = shares(taken, "R2")["repeatability"]
    assert found.u**2 == pytest.approx(expected, rel=1e-9)
    assert found.dof == 3.0


def test_heights_carry_their_repeats() -> None:
    """The level slope of R3 over 1.6 m: pooled variance over four and over two, read-out and seating once."""
    taken = survey(FROM, LASER, LEVEL)
    assert taken.level is not None
    assert taken.level.heights[0].repeats == (4, 2)
    assert taken.level.heights[0].operator_mm == pytest.approx(0.115)
    aspect = solve_survey(taken).level
    assert aspect is not None
    found = budget(aspect.network, aspect.slopes["R3", "as_found"], taken.uncertainty)
    (share,) = (one for one in found if one.source == "repeatability")
    variance, _ = pooled(DRIVE, OPERATOR, *HEIGHTS)
    assert share.u**2 == pytest.approx(variance * (1.0 / 4.0 + 1.0 / 2.0) / 1.6**2, rel=1e-9)


def test_few_repeats_widen_the_interval() -> None:
    """A stated probability takes Student's t at the effective degrees of freedom, which repeats limit."""
    probability = ("  coverage: {k: 2}\n", "  coverage: {probability: 95 %}\n")
    taken = survey(FROM, LASER, probability)
    parts = shares(taken, "R2")
    total = sum(share.u**2 for share in parts.values())
    dof = total**2 / (parts["repeatability"].u ** 4 / 3.0)
    assert all(share.dof == inf for name, share in parts.items() if name != "repeatability")
    state = assess(solve_survey(taken)).rolls[1].parallel.as_found
    assert state is not None
    assert state.dof == pytest.approx(dof, rel=1e-9)
    assert state.k > 1.96
    assert state.U_mm_per_m == pytest.approx(state.k * state.u_mm_per_m, rel=1e-12)


def test_only_repeats_set_aside_are_refused() -> None:
    """Else the repeatability would silently be nothing."""
    only = (
        "      R3: {operator: 0, drive: 0.2}\n",
        "      R3: [{operator: 0, drive: 0.2},\n"
        "           {operator: 0, drive: [1, 4], exclude: {reason: target slipped}}]\n",
    )
    (finding,) = (f for f in findings(FROM, only) if f.severity == "error")
    assert finding.where == "uncertainty.repeatability.from"
    assert "set aside" in finding.message
    # an archived survey of the first edition is read as it was
    first = read_bytes("survey.yaml", changed(FROM, only).encode(), 1)
    assert first.survey is not None
    assert not [f for f in first.findings if f.severity == "error"]
