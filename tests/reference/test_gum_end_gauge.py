"""JCGM 100:2008, H.1 (end-gauge calibration), by the engine's own budget and coverage."""

import pytest

from certgen.network.uncertainty import Share, coverage_factor, effective_dof
from certgen.survey.survey import Coverage

# H.1, Table H.1: contributions in nm and their degrees of freedom, at full precision from the stated inputs
CONTRIBUTIONS = {
    "length of the standard": (25.0, 18.0),
    "measured difference": (9.681941953967707, 25.447250777362726),
    "difference of expansion coefficients": (2.8867873148698995, 50.0),
    "difference of temperatures": (16.599027060501925, 2.0),
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
