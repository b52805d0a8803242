"""Random networks with blocks and shared unknowns, also as one dense system."""

from collections.abc import Iterator

import numpy as np

from certgen.network.equations import Label, Observation, Unknown

SHARED = tuple(Unknown("shared", f"s{j}") for j in range(4))
BLOCKS = ("b0", "b1", "b2", "b3", "b4")


def local(block: str) -> tuple[Unknown, Unknown]:
    """Return the two unknowns of a block."""
    return Unknown("local", block, "0", block), Unknown("local", block, "1", block)


def unknowns() -> tuple[Unknown, ...]:
    """Return all unknowns in the order of the dense system."""
    return (*SHARED, *(one for block in BLOCKS for one in local(block)))


def draw(seed: int) -> list[Observation]:
    """Return five readings in every block and four of the shared unknowns alone, in mixed order."""
    rng = np.random.default_rng(seed)
    rows = [_row(rng, local(block)) for block in BLOCKS for _ in range(5)]
    rows += [_row(rng, ()) for _ in range(4)]
    return [rows[i] for i in rng.permutation(len(rows))]


def _row(rng: np.random.Generator, own: tuple[Unknown, ...]) -> Observation:
    touched = (*own, *rng.permutation(np.arange(4))[:2])
    terms = {SHARED[u] if not isinstance(u, Unknown) else u: float(rng.normal()) for u in touched}
    return Observation(terms, float(rng.normal()), float(rng.uniform(0.2, 3.0)), Label("reading"))


def dense(rows: list[Observation]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the design matrix (n, m), the readings (n,) and their sigmas (n,)."""
    matrix = np.array([[row.terms.get(one, 0.0) for one in unknowns()] for row in rows])
    return matrix, np.array([row.value for row in rows]), np.array([row.sigma for row in rows])


def pairs() -> Iterator[tuple[int, int]]:
    """Yield pairs of unknowns: within a block, across blocks, shared with local, shared with shared."""
    yield from ((4, 5), (4, 6), (5, 13), (0, 4), (3, 12), (0, 3))
