"""Two levelling networks with their published adjustment.

RING is a ring of four points levelled both ways; its adjustment was computed with GNU Gama 1.18b, an open
program for geodetic networks. GHILANI is Example 12.1 of C. D. Ghilani, Adjustment Computations; heights
and standard residuals as GNU Gama 1.18b gives them. Its `f_percent` is how much the adjustment sharpens a
reading, 100 (1 - sd of the adjusted reading / sd of the reading): the redundancy number is
1 - (1 - f/100)², which sums to the degrees of freedom. Its covariance matrix is printed as a band: the
variances and the covariances of neighbours, no more.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from certgen.network.equations import Label, Observation, Unknown
from certgen.network.least_squares import Network, solve


@dataclass(frozen=True)
class Levelling:
    """Readings (from, to, difference in m, sd in mm) from one fixed height, and the published adjustment."""

    fixed: tuple[str, float]
    readings: tuple[tuple[str, str, float, float], ...]
    heights_m: Mapping[str, float]
    variances_mm2: tuple[float, ...]
    next_covariances_mm2: tuple[float, ...]
    dof: int
    chi_square: float
    adjusted_sd_mm: tuple[float, ...]
    f_percent: tuple[float, ...]
    standard_residuals: tuple[float, ...]


RING = Levelling(
    fixed=("1a", 1000.0),
    readings=(
        ("1a", "4", -1.225, 5.0),
        ("4", "3", -0.848, 5.0),
        ("3", "2", 1.342, 5.0),
        ("2", "1a", 0.720, 5.0),
        ("1a", "2", -0.724, 5.0),
        ("2", "3", -1.335, 5.0),
        ("3", "4", 0.842, 5.0),
        ("4", "1a", 1.231, 5.0),
    ),
    heights_m={"2": 999.274875, "3": 997.93325, "4": 998.775125},
    variances_mm2=(9.375, 12.5, 9.375),
    next_covariances_mm2=(6.25, 6.25),
    dof=5,
    chi_square=146.625 / 5.0**2,  # Gama's sum of squares is scaled by its a-priori sd of 5 mm
    adjusted_sd_mm=(3.0618621784789726,) * 8,
    f_percent=(38.763,) * 8,
    standard_residuals=(0.032, 1.550, 0.095, 1.297, 0.285, 1.676, 0.032, 1.550),
)
GHILANI = Levelling(
    fixed=("A", 437.596),
    readings=(
        ("A", "B", 10.509, 6.0),
        ("B", "C", 5.360, 4.0),
        ("C", "D", -8.523, 5.0),
        ("D", "A", -7.348, 3.0),
        ("B", "D", -3.167, 4.0),
        ("A", "C", 15.881, 12.0),
    ),
    heights_m={"B": 448.1087117287866, "C": 453.4684677834756, "D": 444.94360533133613},
    variances_mm2=(12.424703, 16.389823, 7.3106558),
    next_covariances_mm2=(9.0428509, 5.7149233),
    dof=3,
    chi_square=1.2721228,
    adjusted_sd_mm=(3.52486926, 3.27548849, 3.50294627, 2.70382244, 3.01298309, 4.04843468),
    f_percent=(41.252, 18.113, 29.941, 9.873, 24.675, 66.263),
    standard_residuals=(0.764, 0.106, 0.522, 0.304, 0.720, 0.755),
)


def height(point: str) -> Unknown:
    """Return the unknown height of a point above the fixed one, in mm."""
    return Unknown("height", point)


def adjusted(levelling: Levelling) -> Network:
    """Return the adjusted network, in mm."""
    fixed, _ = levelling.fixed
    return solve(
        Observation(_terms(start, end, fixed), 1000.0 * rise_m, sd_mm, Label("height"))
        for start, end, rise_m, sd_mm in levelling.readings
    )


def _terms(start: str, end: str, fixed: str) -> dict[Unknown, float]:
    ends = ((start, -1.0), (end, 1.0))
    return {height(point): sign for point, sign in ends if point != fixed}
