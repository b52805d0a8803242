"""Weighted least squares on a network, by orthogonal decomposition in blocks.

Unknowns that only a few observations touch (the slope and the target heights of one roll) are local to a
block; the others (laser directions, monuments) are shared. Each block is triangularised by Householder QR;
what is left of its rows joins the other blocks' in one small QR for the shared unknowns. This is the
exact least-squares solution, never by the normal equations.
Source: G. H. Golub, R. J. Plemmons, "Large-scale geodetic least-squares adjustment by dissection and
orthogonal decomposition", Linear Algebra and its Applications 34 (1980) 3-28 (cited from memory).
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from certgen.engine.estimate import Array, Estimate
from certgen.engine.observation import Observation, Unknown
from certgen.engine.reduction import (
    Block,
    Columns,
    Remainder,
    Shared,
    column_norms,
    reduce_block,
    solve_shared,
    triangular_solve,
)
from certgen.survey.survey import StandardUncertainty


@dataclass(frozen=True)
class Network:
    """A solved network: estimates of all unknowns and of any linear function of them.

    `values` maps each unknown to its estimate, in the units in which the observations were written.
    """

    observations: tuple[Observation, ...]
    blocks: Mapping[str, Block]
    shared: Shared
    values: Mapping[Unknown, float]

    @property
    def degrees_of_freedom(self) -> int:
        """Observations minus unknowns."""
        return len(self.observations) - len(self.values)

    @cached_property
    def residuals(self) -> Array:
        """Fitted minus observed for each observation, shape (n,), in the observations' unit."""
        return np.array([self._value(o.terms) - o.value for o in self.observations])

    @cached_property
    def sigmas(self) -> Array:
        """The standard uncertainty of each observation, shape (n,)."""
        return np.array([o.sigma for o in self.observations])

    @property
    def chi_square(self) -> float:
        """The weighted sum of squared residuals."""
        return float(np.sum((self.residuals / self.sigmas) ** 2))

    @cached_property
    def fits(self) -> list[Estimate]:
        """The fitted value of each observation, as an estimate."""
        return self.estimates([o.terms for o in self.observations])

    @cached_property
    def _shared_fits(self) -> Array:
        """The shared coefficients of every fit, shape (n, s)."""
        return np.array([fit.shared for fit in self.fits]).reshape(len(self.observations), -1)

    @cached_property
    def _members(self) -> Mapping[str, list[int]]:
        """The observations that touch each block."""
        found: dict[str, list[int]] = {}
        for index, fit in enumerate(self.fits):
            for name in fit.own:
                found.setdefault(name, []).append(index)
        return found

    @cached_property
    def sources(self) -> Mapping[str, Array]:
        """The variance of every observation by source, shape (n,) each, in the square of its unit."""
        names = dict.fromkeys(source for observation in self.observations for source in observation.parts)
        return {name: np.array([o.parts.get(name, 0.0) for o in self.observations]) for name in names}

    @cached_property
    def said(self) -> Mapping[str, Sequence[tuple[StandardUncertainty | None, Sequence[int]]]]:
        """By source, what is stated of single observations, each with those that it holds for.

        Two statements that read alike, of one roll each, stay two: each is an estimate by itself.
        """
        found: dict[str, dict[tuple[StandardUncertainty, str], list[int]]] = {}
        for index, row in enumerate(self.observations):
            if row.said is not None:
                for source in row.parts:
                    found.setdefault(source, {}).setdefault((row.said, row.whose), []).append(index)
        return {source: [(said, rows) for (said, _), rows in each.items()] for source, each in found.items()}

    def covariances(self, estimate: Estimate) -> Array:
        """Return the covariance of an estimate with the fit of every observation, shape (n,)."""
        found: Array = self._shared_fits @ estimate.shared
        for name, mine in estimate.own.items():
            for index in self._members.get(name, ()):
                found[index] += mine @ self.fits[index].own[name]
        return found

    def gains(self, estimate: Estimate) -> Array:
        """Return what one unit more in each observation would add to an estimate, shape (n,).

        An estimate by least squares is the sum of gains times observations; each gain is the covariance with
        the fitted observation over the variance of the reading (Gauss-Markov).
        """
        return np.asarray(self.covariances(estimate) / self.sigmas**2)

    def estimate(self, terms: Mapping[Unknown, float]) -> Estimate:
        """Return the linear function `terms` of the unknowns."""
        return self.estimates([terms])[0]

    def estimates(self, functions: Sequence[Mapping[Unknown, float]]) -> list[Estimate]:
        """Return many linear functions at once; the same as `estimate` of each."""
        split = [self._split(terms) for terms in functions]
        shared = self._whitened(np.array([remainder for _, remainder in split]))
        return [
            Estimate(self._value(terms), own, row)
            for terms, (own, _), row in zip(functions, split, shared, strict=True)
        ]

    def _value(self, terms: Mapping[Unknown, float]) -> float:
        return sum(coefficient * self.values[unknown] for unknown, coefficient in terms.items())

    def _split(self, terms: Mapping[Unknown, float]) -> tuple[dict[str, Array], Array]:
        """Return the whitened part of each block touched, and what is left on the shared unknowns."""
        remainder = np.zeros(len(self.shared.columns))
        local: dict[str, dict[Unknown, float]] = {}
        for unknown, coefficient in terms.items():
            if unknown.block is None:
                remainder[self.shared.columns[unknown]] += coefficient
            else:
                local.setdefault(unknown.block, {})[unknown] = coefficient
        own = {name: self.blocks[name].whiten(part, remainder) for name, part in local.items()}
        return own, remainder

    def _whitened(self, rows: Array) -> Array:
        """Return the coefficients on the shared errors; rows and result have shape (m, s)."""
        if rows.size == 0:
            return rows
        return triangular_solve(self.shared.r, (rows / self.shared.scale).T, transposed=True).T


def solve(observations: Iterable[Observation]) -> Network:
    """Solve the network.

    Every sigma must be positive. Raises RankDefect, which names the unknowns that nothing determines.
    """
    rows = tuple(observations)
    columns = _shared_columns(rows)
    blocks, remainders = _reduced(rows, columns)
    shared = solve_shared(remainders, columns, column_norms(rows, columns))
    values: dict[Unknown, float] = dict(zip(columns, map(float, shared.solution), strict=True))
    for block in blocks.values():
        values.update(block.back_substitute(shared.solution))
    return Network(rows, blocks, shared, values)


def _reduced(rows: Sequence[Observation], columns: Columns) -> tuple[dict[str, Block], list[Remainder]]:
    """Triangularise every block; return the blocks and the rows they leave on the shared unknowns."""
    members: dict[str | None, list[Observation]] = {}
    for row in rows:
        members.setdefault(_block_of(row), []).append(row)
    reduced = {name: reduce_block(rows, columns) for name, rows in members.items()}
    blocks = {name: block for name, (block, _) in reduced.items() if name is not None}
    return blocks, [remainder for _, remainder in reduced.values()]


def _block_of(row: Observation) -> str | None:
    names = {unknown.block for unknown in row.terms if unknown.block is not None}
    if len(names) > 1:
        msg = f"an observation may touch one block only, not {sorted(names)}"
        raise ValueError(msg)
    return next(iter(names), None)


def _shared_columns(rows: Sequence[Observation]) -> Columns:
    found = dict.fromkeys(unknown for row in rows for unknown in row.terms if unknown.block is None)
    return {unknown: column for column, unknown in enumerate(found)}
