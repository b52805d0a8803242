"""Weighted least squares on a network, by orthogonal decomposition in blocks, and its estimates.

Every estimate of a network is a linear function of the same set of independent unit-variance errors (the
observations after whitening). Kept as coefficients on those errors, the covariance of two estimates is a
dot product, and no inverse of the normal matrix is ever formed.
Source: propagation of uncertainty for linear functions of common inputs, JCGM 102:2011, 6.2.1.

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
from math import sqrt

import numpy as np
from numpy.typing import NDArray
from scipy.linalg.lapack import dtrtrs

from certgen.errors import RankDefect
from certgen.network.equations import Observation, Unknown
from certgen.survey.survey import StandardUncertainty

Array = NDArray[np.float64]
# A pivot this small against its column as it was read is a rank defect: real networks stay above 1e-6,
# rounding below 1e-13.
_PIVOT = 1e-10

Columns = Mapping[Unknown, int]


@dataclass(frozen=True, slots=True, eq=False)
class Estimate:
    """A value with its error coefficients.

    `shared` (shape (s,)) are the coefficients on the errors that all estimates of the network may share;
    `own` holds, per block of the network, those on the errors of that block alone. The unit of the value is
    the unit of the coefficients; the errors themselves have unit variance.
    """

    value: float
    own: Mapping[str, Array]
    shared: Array

    @property
    def u(self) -> float:
        """The standard uncertainty, in the unit of the value."""
        return sqrt(self.covariance(self))

    def covariance(self, other: "Estimate") -> float:
        """Return the covariance with another estimate of the same network."""
        common = self.own.keys() & other.own.keys()
        return float(self.shared @ other.shared) + sum(
            float(self.own[name] @ other.own[name]) for name in sorted(common)
        )

    def __sub__(self, other: "Estimate") -> "Estimate":
        """Return the difference; what both share cancels."""
        own = dict(self.own)
        for name, coefficients in other.own.items():
            own[name] = own[name] - coefficients if name in own else -coefficients
        return Estimate(self.value - other.value, own, self.shared - other.shared)

    def shifted(self, by: float) -> "Estimate":
        """Return the estimate with an exactly known amount added."""
        return Estimate(self.value + by, self.own, self.shared)

    def scaled(self, by: float) -> "Estimate":
        """Return the estimate times a factor."""
        own = {name: by * coefficients for name, coefficients in self.own.items()}
        return Estimate(by * self.value, own, by * self.shared)


def known(value: float, shared_size: int) -> Estimate:
    """Return an exactly known value (a reference roll's zero) beside estimates of a network."""
    return Estimate(value, {}, np.zeros(shared_size))


@dataclass(frozen=True, slots=True)
class Block:
    """A triangularised block: r @ local + coupling @ shared[touched] = right, errors of unit variance.

    r has shape (l, l), coupling (l, k), right (l,); `touched` (k,) are columns of the shared system.
    """

    columns: Columns
    r: Array
    coupling: Array
    touched: tuple[int, ...]
    right: Array

    def whiten(self, part: Mapping[Unknown, float], remainder: Array) -> Array:
        """Return the coefficients of `part` on this block's errors; move the rest into `remainder`."""
        row = np.zeros(len(self.columns))
        for unknown, coefficient in part.items():
            row[self.columns[unknown]] += coefficient
        white = triangular_solve(self.r, row, transposed=True)
        remainder[list(self.touched)] -= white @ self.coupling
        return white

    def back_substitute(self, shared: Array) -> dict[Unknown, float]:
        """Return the local unknowns, given the values of the shared ones, shape (s,)."""
        right = self.right - self.coupling @ shared[list(self.touched)]
        solution = triangular_solve(self.r, right)
        return dict(zip(self.columns, map(float, solution), strict=True))


@dataclass(frozen=True, slots=True)
class Shared:
    """The triangular system of the shared unknowns: r @ (scale * x) = right; r (s, s), scale (s,), x (s,)."""

    columns: Columns
    r: Array
    scale: Array
    solution: Array


@dataclass(frozen=True, slots=True)
class Remainder:
    """Whitened rows on the shared unknowns only: rows (m, k) @ shared[touched] = right (m,)."""

    touched: tuple[int, ...]
    rows: Array
    right: Array


def reduce_block(members: Sequence[Observation], columns: Columns) -> tuple[Block, Remainder]:
    """Triangularise the local unknowns of one block; return it and the rows it leaves over.

    Raises RankDefect where the members do not determine the local unknowns.
    """
    found = dict.fromkeys(unknown for member in members for unknown in member.terms)
    local, touched = [u for u in found if u.block is not None], [u for u in found if u.block is None]
    size = len(local)
    r = _triangle(_whitened_rows(members, local + touched))
    free = [u for j, u in enumerate(local) if j >= len(r) or _is_free(r[: j + 1, j])]
    if free:
        raise RankDefect(tuple(free))
    indices = tuple(columns[unknown] for unknown in touched)
    positions = {unknown: j for j, unknown in enumerate(local)}
    block = Block(positions, r[:size, :size], r[:size, size:-1], indices, r[:size, -1])
    return block, Remainder(indices, r[size:, size:-1], r[size:, -1])


def column_norms(rows: Sequence[Observation], columns: Columns) -> Array:
    """Return the norm of each shared unknown's column in the whitened observations, shape (s,).

    What a column loses while the blocks are reduced must be judged against this: what rounding leaves of
    one that is lost altogether is small, but not zero.
    """
    squares = np.zeros(len(columns))
    for row in rows:
        for unknown, coefficient in row.terms.items():
            if unknown.block is None:
                squares[columns[unknown]] += (coefficient / row.sigma) ** 2
    return np.where(squares > 0.0, np.sqrt(squares), 1.0)


def solve_shared(remainders: Sequence[Remainder], columns: Columns, scale: Array) -> Shared:
    """Solve for the shared unknowns, `scale` being their column norms; RankDefect names the free ones."""
    matrix = np.zeros((sum(len(part.rows) for part in remainders), len(columns) + 1))
    start = 0
    for part in remainders:
        stop = start + len(part.rows)
        matrix[start:stop, list(part.touched)] = part.rows
        matrix[start:stop, -1] = part.right
        start = stop
    r = _triangle(matrix / np.append(scale, 1.0))
    size = len(columns)
    triangle = np.asfortranarray(r[:size, :size])
    if len(r) < size or np.any(np.abs(np.diagonal(triangle)) <= _PIVOT):
        # the unknowns that take part in the null space of the scaled triangle, shape (m, s)
        unknowns = tuple(columns)
        padded = np.vstack([triangle, np.zeros((max(len(unknowns) - len(triangle), 0), len(unknowns)))])
        _, singular, rows = np.linalg.svd(padded)
        null = rows[singular <= _PIVOT]
        undetermined = tuple(u for j, u in enumerate(unknowns) if np.any(np.abs(null[:, j]) > 1e-6))
        raise RankDefect(undetermined)
    scaled = triangular_solve(triangle, r[:size, -1])
    return Shared(columns, triangle, scale, scaled / scale)


def triangular_solve(r: Array, right: Array, *, transposed: bool = False) -> Array:
    """Solve r @ x = right (or its transpose) for an upper triangle of full rank; right (s,) or (s, m).

    LAPACK's own routine: a network asks thousands of tiny questions, and the wrapper around it costs more
    than the answer.
    """
    if right.size == 0:
        return np.zeros_like(right)
    solved, info = dtrtrs(r, right, lower=0, trans=int(transposed))
    if info != 0:
        msg = f"triangular solve failed at {info}"
        raise ArithmeticError(msg)
    return np.asarray(solved, dtype=np.float64).reshape(right.shape)


def _whitened_rows(members: Sequence[Observation], unknowns: Sequence[Unknown]) -> Array:
    """Return [A | b], each row divided by its sigma, shape (n, unknowns + 1)."""
    position = {unknown: j for j, unknown in enumerate(unknowns)}
    rows = np.zeros((len(members), len(unknowns) + 1))
    for i, member in enumerate(members):
        for unknown, coefficient in member.terms.items():
            rows[i, position[unknown]] += coefficient / member.sigma
        rows[i, -1] = member.value / member.sigma
    return rows


def _triangle(rows: Array) -> Array:
    """Return the triangular factor of rows (n, m), by Householder reflections, shape (min(n, m), m)."""
    return np.asarray(np.linalg.qr(rows, mode="r"), dtype=np.float64)


def _is_free(column: Array) -> bool:
    return bool(abs(column[-1]) <= _PIVOT * max(float(np.linalg.norm(column)), 1e-300))


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
        # the shared coefficients of every fit, shape (n, s)
        shared_fits = np.array([fit.shared for fit in self.fits]).reshape(len(self.observations), -1)
        found: Array = shared_fits @ estimate.shared
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
        # the coefficients on the shared errors; rows and result have shape (m, s)
        rows = np.array([remainder for _, remainder in split])
        if rows.size == 0:
            shared = rows
        else:
            shared = triangular_solve(self.shared.r, (rows / self.shared.scale).T, transposed=True).T
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


def solve(observations: Iterable[Observation]) -> Network:
    """Solve the network.

    Every sigma must be positive. Raises RankDefect, which names the unknowns that nothing determines.
    """
    rows = tuple(observations)
    found = dict.fromkeys(unknown for row in rows for unknown in row.terms if unknown.block is None)
    columns = {unknown: column for column, unknown in enumerate(found)}
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
        names = {unknown.block for unknown in row.terms if unknown.block is not None}
        if len(names) > 1:
            msg = f"an observation may touch one block only, not {sorted(names)}"
            raise ValueError(msg)
        members.setdefault(next(iter(names), None), []).append(row)
    reduced = {name: reduce_block(rows, columns) for name, rows in members.items()}
    blocks = {name: block for name, (block, _) in reduced.items() if name is not None}
    return blocks, [remainder for _, remainder in reduced.values()]
