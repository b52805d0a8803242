"""Proof of a network: chi-square, residuals, suspects with likely causes, and closures.

It is the difference of the two readings themselves. What their directions and offsets amount to is taken
off as the adjustment finds it; in one setup that is nothing. Errors that readings share beyond that (how the
setup turned, run-out, scale, what else is stated) stay in: they are part of why two readings differ, and part
of the uncertainty as far as they do not cancel. With X the directions, offsets, monuments and slopes, g the
weights on the readings y, and V the covariance of the readings with all that they share,

    closure = g' y - g' X b        b: the adjusted X
    u² = g' V g - u²(g' X b)       for Cov(y, b) = X Cov(b) with weights V⁻¹ (Gauss-Markov)

Between setups a closure is what is left after the adjustment, for the re-reading has already pulled at the
tie; its uncertainty is that of what is left, so that the two compare as a raw misclosure does with its own.
Where hardly anything can be left, as of two monuments that alone hold a setup, it closes whatever was read.
Source: JCGM 102:2011, 6.2; the first edition of the rules took off what the shared errors were found to be.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import chdtrc

from certgen.network.causes import Cause, cause_by_first_edition, common, with_causes
from certgen.network.equations import Label, Observation, Unknown
from certgen.network.least_squares import Array, Estimate, Network
from certgen.network.reliability import CHECKED, CRITICAL_W, UNCHECKED, Residuals, residuals
from certgen.network.suspects import Suspect, suspects, suspects_of_first_edition
from certgen.survey.edition import EDITION, FIRST

# A p-value below this says that the stated uncertainties do not explain the residuals (customary 5 %).
LOW_P = 0.05


@dataclass(frozen=True, slots=True)
class Closure:
    """A re-reading less its first reading, and the standard uncertainty of that if nothing moved.

    In mm/m for a roll, in mm for a monument. `label` is that of the re-reading, `first` that of the first.
    `left` is the share of a misclosure that the adjustment leaves to be seen in the residuals, its redundancy
    number; 1 where nothing is taken off the readings, as in one setup.
    """

    label: Label
    first: Label
    difference: float
    u: float
    left: float

    @property
    def checked(self) -> bool:
        """Whether other readings check it; otherwise it is near zero by construction."""
        return self.left >= CHECKED


# One reading as (observation, weight): a roll's slope is the difference of its ends over their distance.
_Series = tuple[tuple[int, float], ...]


# Priors of directions: they bring two readings to one direction, as the azimuths of their setups do.
_DIRECTIONS = frozenset({"squareness", "zero"})


def closures(network: Network, edition: int = EDITION) -> tuple[Closure, ...]:
    """Compare every later reading of a roll or monument in one condition with its first."""
    errors = {} if edition == FIRST else _errors(network)
    # the readings of each roll with one slope unknown (or the reference's zero), of each monument
    of_condition: dict[object, dict[object, list[int]]] = {}
    condition: object
    reading: object
    for index, observation in enumerate(network.observations):
        # the condition that an observation shares with its re-readings, and the reading it belongs to
        label = observation.label
        slopes = tuple(unknown for unknown in observation.terms if unknown.kind == "slope")
        if label.source in {"roll", "height"}:
            condition, reading = (label.source, label.roll, slopes), (label.setup, label.series)
        elif label.source == "level":
            place = tuple(c for unknown, c in observation.terms.items() if unknown.kind in {"sag", "zero"})
            condition, reading = (label.source, slopes, place), index
        else:
            condition, reading = (
                ((label.source, label.monument), index) if label.source == "monument" else (None, None)
            )
        if condition is not None:
            of_condition.setdefault(condition, {}).setdefault(reading, []).append(index)
    by_condition = {
        condition: [_series(network.observations, indices) for indices in readings.values()]
        for condition, readings in of_condition.items()
        if len(readings) > 1
    }
    pairs = [
        (first, again) for series in by_condition.values() for first, *later in [series] for again in later
    ]
    terms = [_terms(network, _gains(*pair)) for pair in pairs]
    fits = network.estimates([{u: c for u, c in one.items() if u not in errors} for one in terms])
    shares = [{u: c for u, c in one.items() if u in errors} for one in terms]
    whole = network.estimates(terms) if errors else fits
    amounts = [_Shared.of(network, one, errors, fit) for one, fit in zip(shares, whole, strict=True)]
    found = (_closure(network, *one) for one in zip(pairs, fits, amounts, strict=True))
    return tuple(closure for closure in found if closure is not None)


@dataclass(frozen=True, slots=True)
class _Shared:
    """What shared errors make of a difference: as the adjustment finds it, and its variance as stated.

    `fitted` is the variance of the whole difference as adjusted, these errors included.
    """

    value: float
    variance: float
    fitted: float

    @classmethod
    def of(
        cls, network: Network, terms: Mapping[Unknown, float], u: Mapping[Unknown, float], whole: Estimate
    ) -> "_Shared":
        value = sum(coefficient * network.values[unknown] for unknown, coefficient in terms.items())
        variance = sum((coefficient * u[unknown]) ** 2 for unknown, coefficient in terms.items())
        return cls(value, variance, whole.covariance(whole))


def _errors(network: Network) -> Mapping[Unknown, float]:
    """The errors that readings share, each with the standard uncertainty that is stated of it."""
    priors = (row for row in network.observations if row.label.source == "prior")
    return {unknown: row.sigma for row in priors for unknown in row.terms if unknown.kind not in _DIRECTIONS}


def _series(observations: Sequence[Observation], indices: Sequence[int]) -> _Series:
    if len(indices) == 1:
        return ((indices[0], 1.0),)
    near, far = indices
    span_m = observations[far].at_m - observations[near].at_m
    return (near, -1.0 / span_m), (far, 1.0 / span_m)


def _gains(first: _Series, again: _Series) -> dict[int, float]:
    """Weights on the readings, so that the first is taken from the one that was read again."""
    return {**{index: -weight for index, weight in first}, **dict(again)}


def _terms(network: Network, gains: Mapping[int, float]) -> dict[Unknown, float]:
    terms: dict[Unknown, float] = {}
    for index, gain in gains.items():
        for unknown, coefficient in network.observations[index].terms.items():
            terms[unknown] = terms.get(unknown, 0.0) + gain * coefficient
    return terms


def _closure(
    network: Network, pair: tuple[_Series, _Series], fit: Estimate, shared: _Shared
) -> Closure | None:
    """None where the two readings cannot disagree, for lack of redundancy; `fit` is what is taken off."""
    first, again = pair
    gains, of_fit = _gains(first, again), fit.covariance(fit)
    own = float(sum((gain * network.sigmas[index]) ** 2 for index, gain in gains.items()))
    read = shared.variance + own
    if read - of_fit <= UNCHECKED * read:
        return None
    left = 1.0 if of_fit <= UNCHECKED * read else 1.0 - shared.fitted / own
    difference = shared.value - sum(gain * network.residuals[index] for index, gain in gains.items())
    label, before = network.observations[again[0][0]].label, network.observations[first[0][0]].label
    return Closure(label, before, float(difference), float(np.sqrt(read - of_fit)), left)


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
