"""Proof of a network: chi-square, residuals, suspects with their likely causes, closures."""

from collections.abc import Iterator
from dataclasses import dataclass

from scipy.special import chdtrc

from certgen.engine.causes import Cause, common, with_causes
from certgen.engine.causes_first import cause_by_first_edition
from certgen.engine.closures import Closure, closures
from certgen.engine.estimate import Array
from certgen.engine.network import Network
from certgen.engine.observation import Label
from certgen.engine.residuals import CHECKED, CRITICAL_W, Residuals, residuals
from certgen.engine.suspects import Suspect, suspects, suspects_of_first_edition
from certgen.survey.edition import EDITION, FIRST

# A p-value below this says that the stated uncertainties do not explain the residuals (customary 5 %).
LOW_P = 0.05


@dataclass(frozen=True, slots=True)
class Named:
    """A suspect with the likely cause of each of its candidates and the one that they agree on."""

    suspect: Suspect
    cause: Cause | None
    causes: tuple[Cause | None, ...] = ()


@dataclass(frozen=True, slots=True)
class Quality:
    """The proof of one network. `p_value` is None without degrees of freedom.

    `left_chi_square` and `left_dof` are what is left where every suspect is set aside. `unchecked` are the
    readings that no other one checks, of `readings` in all; priors are none.
    """

    observations: int
    unknowns: int
    dof: int
    chi_square: float
    p_value: float | None
    left_chi_square: float
    left_dof: int
    residuals: Residuals
    critical_w: float
    named: tuple[Named, ...]
    readings: int
    unchecked: tuple[Label, ...]
    closures: tuple[Closure, ...]

    @property
    def redundancy(self) -> Array:
        """The redundancy number of each observation, shape (n,)."""
        return self.residuals.redundancy

    @property
    def w(self) -> Array:
        """The standardised residual of each observation, shape (n,); nan where it is unchecked."""
        return self.residuals.w

    @property
    def suspects(self) -> tuple[Suspect, ...]:
        """The suspects in the order in which they were named."""
        return tuple(one.suspect for one in self.named)

    @property
    def causes(self) -> tuple[Cause | None, ...]:
        """The cause of each suspect, None where the numbers do not show one."""
        return tuple(one.cause for one in self.named)

    @property
    def too_large(self) -> float | None:
        """How many times the residuals are larger than stated, the suspects set aside; None: as stated.

        The root of chi-square over its degrees of freedom, where chi-square is beyond what the stated
        uncertainties explain (R. T. Birge, Phys. Rev. 40 (1932) 207, from memory).
        """
        if self.left_dof <= 0 or chdtrc(self.left_dof, self.left_chi_square) >= LOW_P:
            return None
        return float((self.left_chi_square / self.left_dof) ** 0.5)


def quality(network: Network, edition: int = EDITION) -> Quality:
    """Return the proof of a network by that edition of the rules."""
    dof, found = network.degrees_of_freedom, residuals(network)
    named = tuple(_named(network, found, edition))
    read = [i for i, one in enumerate(network.observations) if one.label.source != "prior"]
    return Quality(
        observations=len(network.observations),
        unknowns=len(network.values),
        dof=dof,
        chi_square=network.chi_square,
        p_value=float(chdtrc(dof, network.chi_square)) if dof > 0 else None,
        left_chi_square=max(network.chi_square - sum(one.suspect.w**2 for one in named), 0.0),
        left_dof=dof - len(named),
        residuals=found,
        critical_w=CRITICAL_W,
        named=named,
        readings=len(read),
        unchecked=tuple(network.observations[i].label for i in read if found.redundancy[i] < CHECKED),
        closures=closures(network, edition),
    )


def _named(network: Network, found: Residuals, edition: int) -> Iterator[Named]:
    if edition == FIRST:
        for suspect in suspects_of_first_edition(network, found):
            yield Named(suspect, cause_by_first_edition(network, found, suspect))
        return
    for suspect in suspects(network, found):
        headed, each = with_causes(network, suspect)
        yield Named(headed, common(each), each)
