"""Ordinary least squares through the engine, and the NIST data it is held against.

Data and certified values: NIST/ITL Statistical Reference Datasets, linear least squares (public domain).
NoInt1 and NoInt2: data and certified values as published. Norris: the 36 points are from memory of the
published table, confirmed by the certified values. Longley: data as statsmodels.datasets.longley ships
them; the certified values of B2 to B6 and the standard deviations of B1 to B6 are from memory.
"""

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike

from certgen.network.equations import Label, Observation, Unknown
from certgen.network.least_squares import Network, solve


@dataclass(frozen=True)
class Certified:
    """Certified coefficients, their standard deviations and the residual standard deviation."""

    coefficients: tuple[float, ...]
    deviations: tuple[float, ...]
    residual_sd: float


NOINT1_X = tuple(range(60, 71))
NOINT1_Y = tuple(range(130, 141))
NOINT1 = Certified((2.07438016528926,), (0.0165289256198347,), 3.56753034006338)

NOINT2_X = (4, 5, 6)
NOINT2_Y = (3, 4, 4)
NOINT2 = Certified((0.727272727272727,), (0.0420827318078432,), 0.369274472937998)

NORRIS_Y = (
    0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3,
    0.1, 778.1, 668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3,
    0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
)  # fmt: skip
NORRIS_X = (
    0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4,
    0.6, 775.5, 666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3,
    0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
)  # fmt: skip
NORRIS = Certified(
    (-0.262323073774029, 1.00211681802045), (0.232818234301152, 0.000429796848199937), 0.884796396144373
)

LONGLEY = Certified(
    (
        -3482258.63459582,
        15.0618722713733,
        -0.0358191792925910,
        -2.02022980381683,
        -1.03322686717359,
        -0.0511041056535807,
        1829.15146461355,
    ),
    (
        890420.383607373,
        84.9149257747669,
        0.0334910077722432,
        0.488399681651699,
        0.214274163161675,
        0.226073200069370,
        455.478499142212,
    ),
    304.854073561965,
)


def regress(columns: ArrayLike, y: ArrayLike) -> Network:
    """Return the network of y = columns @ B, every reading with sigma 1; columns (n, m), y (n,)."""
    unknowns = [Unknown("coefficient", f"B{j}") for j in range(np.shape(columns)[1])]
    return solve(
        Observation(dict(zip(unknowns, map(float, row), strict=True)), float(value), 1.0, Label("reading"))
        for row, value in zip(np.asarray(columns), np.asarray(y), strict=True)
    )


def residual_sd(network: Network) -> float:
    """Return the standard deviation of one reading, from the scatter about the fit."""
    return sqrt(network.chi_square / network.degrees_of_freedom)


def found(network: Network) -> Certified:
    """Return what was found, in the order of the coefficients."""
    unknowns, scatter = list(network.values), residual_sd(network)
    deviations = tuple(scatter * network.estimate({unknown: 1.0}).u for unknown in unknowns)
    return Certified(tuple(network.values[unknown] for unknown in unknowns), deviations, scatter)
