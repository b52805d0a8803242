"""The two triangular systems of a network: one for each block, one for what the blocks share."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.linalg.lapack import dtrtrs

from certgen.engine.estimate import Array
from certgen.engine.observation import Observation, Unknown
from certgen.errors import RankDefect

# A pivot this small against its column as it was read is a rank defect: real networks stay above 1e-6,
# rounding below 1e-13.
_PIVOT = 1e-10

Columns = Mapping[Unknown, int]


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
    local, touched = _unknowns_of(members)
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
    matrix = _stacked(remainders, len(columns))
    r = _triangle(matrix / np.append(scale, 1.0))
    size = len(columns)
    triangle = np.asfortranarray(r[:size, :size])
    if len(r) < size or np.any(np.abs(np.diagonal(triangle)) <= _PIVOT):
        raise RankDefect(_undetermined(triangle, tuple(columns)))
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


def _unknowns_of(members: Sequence[Observation]) -> tuple[list[Unknown], list[Unknown]]:
    found = dict.fromkeys(unknown for member in members for unknown in member.terms)
    return [u for u in found if u.block is not None], [u for u in found if u.block is None]


def _whitened_rows(members: Sequence[Observation], unknowns: Sequence[Unknown]) -> Array:
    """Return [A | b], each row divided by its sigma, shape (n, unknowns + 1)."""
    position = {unknown: j for j, unknown in enumerate(unknowns)}
    rows = np.zeros((len(members), len(unknowns) + 1))
    for i, member in enumerate(members):
        for unknown, coefficient in member.terms.items():
            rows[i, position[unknown]] += coefficient / member.sigma
        rows[i, -1] = member.value / member.sigma
    return rows


def _stacked(remainders: Sequence[Remainder], size: int) -> Array:
    matrix = np.zeros((sum(len(part.rows) for part in remainders), size + 1))
    start = 0
    for part in remainders:
        stop = start + len(part.rows)
        matrix[start:stop, list(part.touched)] = part.rows
        matrix[start:stop, -1] = part.right
        start = stop
    return matrix


def _triangle(rows: Array) -> Array:
    """Return the triangular factor of rows (n, m), by Householder reflections, shape (min(n, m), m)."""
    return np.asarray(np.linalg.qr(rows, mode="r"), dtype=np.float64)


def _is_free(column: Array) -> bool:
    return bool(abs(column[-1]) <= _PIVOT * max(float(np.linalg.norm(column)), 1e-300))


def _undetermined(triangle: Array, unknowns: tuple[Unknown, ...]) -> tuple[Unknown, ...]:
    """Return the unknowns that take part in the null space of the scaled triangle, shape (m, s)."""
    padded = np.vstack([triangle, np.zeros((max(len(unknowns) - len(triangle), 0), len(unknowns)))])
    _, singular, rows = np.linalg.svd(padded)
    null = rows[singular <= _PIVOT]
    return tuple(u for j, u in enumerate(unknowns) if np.any(np.abs(null[:, j]) > 1e-6))
