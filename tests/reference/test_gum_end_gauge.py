"""JCGM 100:2008, H.1 (end-gauge calibration) and Table G.2, by the engine's own budget and coverage."""

import pytest

from certgen.engine.budget import Share, effective_dof
from certgen.engine.coverage import coverage_factor
from certgen.survey.survey import Coverage

# H.1, Table H.1: contributions in nm and their degrees of freedom, at full precision from the stated inputs
CONTRIBUTIONS = {
    "length of the standard": (25.0, 18.0),
    "measured difference": (9.681941953967707, 25.447250777362726),
    "difference of expansion coefficients": (2.8867873148698995, 50.0),
    "difference of temperatures": (16.599027060501925, 2.0),
}
# Table G.2, columns 90 %, 95 %, 99 %
TABLE_G2 = {
    1: (6.31, 12.71, 63.66),
    2: (2.92, 4.30, 9.92),
    5: (2.02, 2.57, 4.03),
    10: (1.81, 2.23, 3.17),
    16: (1.75, 2.12, 2.92),
    30: (1.70, 2.04, 2.75),
    100: (1.660, 1.984, 2.626),
}


def shares() -> tuple[Share, ...]:
    """Return the budget of H.1."""
    return tuple(Share(name, u, 1.0, u, 0.0, dof) for name, (u, dof) in CONTRIBUTIONS.items())


def test_effective_degrees_of_freedom_of_the_end_gauge() -> None:
    """H.1.6 prints 16 (truncated); at full precision 16.75."""
    assert effective_dof(shares()) == pytest.approx(16.75185573762724, rel=1e-9)


def test_expanded_uncertainty_of_the_end_gauge() -> None:
    """H.1.6: u = 32 nm, t99(16) = 2.92, U99 = 93 nm."""
    u = sum(share.u**2 for share in shares()) ** 0.5
    k = coverage_factor(Coverage(None, 0.99), int(effective_dof(shares())))
    assert round(u) == 32
    assert round(k, 2) == 2.92
    assert round(k * round(u)) == 93


@pytest.mark.parametrize("dof", sorted(TABLE_G2))
def test_coverage_factor_is_that_of_table_g2(dof: int) -> None:
    """Student's t for 90 %, 95 % and 99 %."""
    found = [coverage_factor(Coverage(None, p), dof) for p in (0.90, 0.95, 0.99)]
    assert found == pytest.approx(TABLE_G2[dof], abs=0.0051)
