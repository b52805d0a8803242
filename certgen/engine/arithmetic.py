"""How this machine rounds: linear algebra libraries take other paths on other processors.

The last digits of a result are those of the machine that computed it. Which machine that was cannot be told
from its name; whether two round alike can, by what both make of the same systems of equations.
"""

from collections.abc import Iterator
from functools import cache
from hashlib import sha256
from typing import Any

import numpy as np

from certgen.engine.estimate import Array

_SIZES = (2, 3, 5, 8, 13, 21, 34, 55, 89)


@cache
def arithmetic_digest() -> str:
    """Return a SHA-256 over what this machine makes of fixed least-squares problems, to the last bit."""
    digest = sha256()
    for size in _SIZES:
        for part in _solved(_rows(2 * size, size)):
            digest.update(np.ascontiguousarray(part).tobytes())
    return digest.hexdigest()


def _rows(count: int, size: int) -> Array:
    """A matrix (count, size) of fixed numbers that are no binary fractions."""
    i, j = np.ogrid[1 : count + 1, 1 : size + 1]
    return np.asarray((i * i * 7919 + j * 104729 + i * j * j) % 9973 / 997.0 - 5.0, dtype=np.float64)


def _solved(rows: Array) -> Iterator[Any]:
    """Yield what the routines that the networks use give for the rows."""
    normal = rows.T @ rows + 100.0 * np.eye(rows.shape[1])
    lower = np.linalg.cholesky(normal)
    yield np.linalg.qr(rows, mode="r")
    yield normal
    yield np.linalg.solve(lower, rows.T)
    yield np.linalg.inv(lower)
    yield rows.sum(axis=0)
