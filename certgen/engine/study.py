"""What a direction of the reference costs, in rolls that do not pass and in moves, and which costs least.

Everything is measured against the present reference. A roll stands at an error (slope less target); against
a reference turned to the direction d its error is that less d. It passes for a closed band of directions, so
counts change only at the ends of bands and the total move is linear between: the cheapest direction is found
exactly by sorting those ends. Slopes in mm/m, positive where the drive end lies downstream; moves in mm.
Derived in docs/reference_study.md.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, replace
from math import inf, isfinite

import numpy as np
from numpy.typing import NDArray

from certgen.engine.travel import ROUNDING_MM

Array = NDArray[np.float64]

# Totals nearer to each other are equal: what is left is rounding of sums (a millionth of a micrometre).
_SAME_MM = 1e-9


@dataclass(frozen=True, slots=True)
class Stand:
    """Where one roll stands, how far it may be off, and how far it can be turned. All mm/m but the bearings.

    `half_width_mm_per_m` is the largest size of error that passes under the decision rule, without a
    condition; negative where none does (U above the limit). `least_turn_mm_per_m` (0 or negative) and
    `most_turn_mm_per_m` (0 or positive) are the changes of slope that its bearings allow.
    `slack_mm_per_m` is by how much the rule forgives rounding.
    """

    roll: str
    error_mm_per_m: float
    half_width_mm_per_m: float
    bearings_mm: float
    least_turn_mm_per_m: float = -inf
    most_turn_mm_per_m: float = inf
    slack_mm_per_m: float = 1e-12

    def breakpoints(self) -> Iterator[float]:
        """Yield the directions at which what this roll costs changes its course."""
        error, half = self.error_mm_per_m, max(self.half_width_mm_per_m, 0.0)
        yield from (error - half, error + half)
        for turned in (self.least_turn_mm_per_m, self.most_turn_mm_per_m):
            if isfinite(turned):
                yield from (error + turned - half, error + turned, error + turned + half)


@dataclass(frozen=True, slots=True)
class Stands:
    """Many rolls side by side, each field of `Stand` an array of shape (n,).

    Directions are one number, or where there is one roll, many (shape (m,)).
    """

    rolls: tuple[str, ...]
    error_mm_per_m: Array
    half_width_mm_per_m: Array
    bearings_mm: Array
    least_turn_mm_per_m: Array
    most_turn_mm_per_m: Array
    slack_mm_per_m: Array

    @property
    def reach_mm_per_m(self) -> Array:
        """The half width with the rule's slack."""
        return self.half_width_mm_per_m + self.slack_mm_per_m

    def against(self, errors_mm_per_m: Sequence[float], half_widths_mm_per_m: Sequence[float]) -> "Stands":
        """Return the same rolls with errors and half widths against another reference."""
        errors, half_widths = np.array(errors_mm_per_m), np.array(half_widths_mm_per_m)
        return replace(self, error_mm_per_m=errors, half_width_mm_per_m=half_widths)

    def without(self, roll: str) -> "Stands":
        """Return all rolls but this one."""
        keep = np.array([name != roll for name in self.rolls], dtype=bool)
        arrays = (getattr(self, field.name)[keep] for field in fields(self)[1:])
        return Stands(tuple(name for name in self.rolls if name != roll), *arrays)

    def outside(self, directions: Array | float) -> NDArray[np.bool_]:
        """Return where a roll does not pass."""
        return np.asarray(np.abs(self.error_mm_per_m - directions) > self.reach_mm_per_m)

    def turn(self, directions: Array | float) -> Array:
        """Return the change of slope that brings the error to zero, or as near as the bearings allow."""
        needed = directions - self.error_mm_per_m
        return np.asarray(np.clip(needed, self.least_turn_mm_per_m, self.most_turn_mm_per_m))

    def stuck(self, directions: Array | float) -> NDArray[np.bool_]:
        """Return where a roll does not pass and no move brings it to a pass."""
        left = self.error_mm_per_m + self.turn(directions) - directions
        return self.outside(directions) & np.asarray(np.abs(left) > self.reach_mm_per_m)

    def move_mm(self, directions: Array | float) -> Array:
        """Return the move at the bearings, as far as there is room for it; none where a roll passes."""
        turned = np.where(self.outside(directions), np.abs(self.turn(directions)), 0.0)
        moved = turned * self.bearings_mm / 1000.0
        return np.asarray(np.where(moved > ROUNDING_MM, moved, 0.0))


def side_by_side(stands: Sequence[Stand]) -> Stands:
    """Return these rolls as arrays, to be costed in one go."""
    columns = (np.array([getattr(one, field.name) for one in stands]) for field in fields(Stand)[1:])
    return Stands(tuple(one.roll for one in stands), *columns)


@dataclass(frozen=True, slots=True)
class Cost:
    """What a reference direction costs: the rolls that do not pass, and of them those that stay so.

    `stuck` are those that no move brings to a pass; `moved` those that are to be moved, as in the plan of
    moves: wherever there is room for it.
    """

    outside: tuple[str, ...]
    stuck: tuple[str, ...]
    moved: tuple[str, ...]
    total_move_mm: float
    largest_move_mm: float

    @property
    def rank(self) -> tuple[int, int, int]:
        """Cheaper sorts first: rolls that stay outside, rolls outside, total move to the rounding of sums."""
        return len(self.stuck), len(self.outside), round(self.total_move_mm / _SAME_MM)


@dataclass(frozen=True, slots=True)
class Curve:
    """The cost over a sequence of directions (mm/m): rolls outside, rolls that stay outside, total move."""

    directions: Array
    outside: Array
    stuck: Array
    total_move_mm: Array


def cost(stands: Sequence[Stand], direction_mm_per_m: float) -> Cost:
    """Return the cost of one direction: every roll that does not pass is moved as near to it as it can be."""
    return cost_of(side_by_side(stands), direction_mm_per_m)


def cost_of(stands: Stands, direction_mm_per_m: float) -> Cost:
    """Return the cost of one direction, as `cost` does."""
    moved = stands.move_mm(direction_mm_per_m)
    moves = moved.tolist()
    return Cost(
        outside=_named(stands, stands.outside(direction_mm_per_m)),
        stuck=_named(stands, stands.stuck(direction_mm_per_m)),
        moved=_named(stands, moved > 0.0),
        total_move_mm=sum(moves),
        largest_move_mm=max(moves, default=0.0),
    )


def _named(stands: Stands, chosen: NDArray[np.bool_]) -> tuple[str, ...]:
    return tuple(stands.rolls[index] for index in np.flatnonzero(chosen))


def curve(stands: Sequence[Stand], directions: Array) -> Curve:
    """Return the cost at each of these directions."""
    outside, stuck, total = (np.zeros(len(directions)) for _ in range(3))
    for stand in stands:  # one by one: all at once would take memory with the square of the number of rolls
        roll = side_by_side([stand])
        outside += roll.outside(directions)
        stuck += roll.stuck(directions)
        total += roll.move_mm(directions)
    return Curve(directions, outside, stuck, total)


def breakpoints(stands: Sequence[Stand]) -> Array:
    """Return every direction at which the cost changes its course, and the present one (zero), sorted."""
    return np.unique([0.0, *(place for stand in stands for place in stand.breakpoints())])


def best_direction(stands: Sequence[Stand]) -> float:
    """Return the direction that costs least, mm/m against the present reference.

    In this order: fewest rolls that stay outside, fewest rolls outside, least total move, smallest turn from
    the present reference. Exact: bands are closed, so at a breakpoint no more rolls are outside than right
    beside it, and between two the move is linear: one of the breakpoints is the cheapest direction there is.
    """
    found = curve(stands, breakpoints(stands))
    places, total = found.directions, np.round(found.total_move_mm / _SAME_MM)
    order = np.lexsort((places, np.abs(places), total, found.outside, found.stuck))
    return float(places[order[0]])
