"""Proof of a network: chi-square, residuals, suspects with their likely causes, closures."""

from dataclasses import dataclass

from scipy.special import chdtrc

from certgen.engine.causes import Cause, cause
from certgen.engine.closures import Closure, closures
from certgen.engine.estimate import Array
from certgen.engine.network import Network
from certgen.engine.residuals import CRITICAL_W, Residuals, residuals
from certgen.engine.suspects import Suspect, suspects

# A p-value below this says that the stated uncertainties do not explain the residuals (customary 5 %).
LOW_P = 0.05


@dataclass(frozen=True, slots=True)
class Quality:
    """The proof of one network. `p_value` is None without degrees of freedom.

    `causes` has one entry for each suspect, None where the numbers do not show a cause.
    """

    observations: int
    unknowns: int
    dof: int
    chi_square: float
    p_value: float | None
    residuals: Residuals
    critical_w: float
    suspects: tuple[Suspect, ...]
    causes: tuple[Cause | None, ...]
    closures: tuple[Closure, ...]

    @property
    def redundancy(self) -> Array:
        """The redundancy number of each observation, shape (n,)."""
        return self.residuals.redundancy

    @property
    def w(self) -> Array:
        """The standardised residual of each observation, shape (n,); nan where it is unchecked."""
        return self.residuals.w


def quality(network: Network) -> Quality:
    """Return the proof of a network."""
    dof, found = network.degrees_of_freedom, residuals(network)
    named = suspects(network, found)
    return Quality(
        observations=len(network.observations),
        unknowns=len(network.values),
        dof=dof,
        chi_square=network.chi_square,
        p_value=float(chdtrc(dof, network.chi_square)) if dof > 0 else None,
        residuals=found,
        critical_w=CRITICAL_W,
        suspects=named,
        causes=tuple(cause(network, found, suspect) for suspect in named),
        closures=closures(network),
    )
