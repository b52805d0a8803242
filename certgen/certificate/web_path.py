"""The path of the web over the rolls: straight between tangent points, arcs on the rolls.

A survey does not say on which side the web wraps a roll; a web under tension lies on the outer side of its
turn, so the side follows from the roll positions. Source: plane geometry of common tangents.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import atan2, cos, hypot, pi, sin, sqrt

from certgen.certificate.pen import Point

# A turn flatter than this (sine) does not tell a side: the web keeps the side it had.
_STRAIGHT = 0.02
_ARC_STEP = pi / 24.0


@dataclass(frozen=True, slots=True)
class Circle:
    """A roll in the side view."""

    x: float
    y: float
    r: float


def web_path(rolls: Sequence[Circle]) -> list[Point]:
    """Return the web as a chain of points, from the first roll to the last; [] for fewer than two rolls."""
    if len(rolls) < 2:
        return []
    sides = _sides(rolls)
    normals = [
        _tangent_normal(a, b, (sides[i] * a.r, sides[i + 1] * b.r))
        for i, (a, b) in enumerate(pairwise(rolls))
    ]
    points: list[Point] = []
    for i, roll in enumerate(rolls):
        arriving, leaving = normals[max(i - 1, 0)], normals[min(i, len(normals) - 1)]
        points += _arc(roll, sides[i], arriving, leaving)
    return points


def _sides(rolls: Sequence[Circle]) -> list[int]:
    """+1 where the web lies to the left of its travel (over the top when moving right), -1 to the right."""
    turns = [_turn(*rolls[i - 1 : i + 2]) for i in range(1, len(rolls) - 1)]
    sides: list[int] = []
    for turn in turns:
        kept = sides[-1] if sides else 1
        sides.append(kept if abs(turn) < _STRAIGHT else (-1 if turn > 0 else 1))
    return [sides[0], *sides, sides[-1]] if sides else [1] * len(rolls)


def _turn(a: Circle, b: Circle, c: Circle) -> float:
    """The sine of the turn at b, positive to the left."""
    first, second = (b.x - a.x, b.y - a.y), (c.x - b.x, c.y - b.y)
    size = hypot(*first) * hypot(*second)
    return (first[0] * second[1] - first[1] * second[0]) / size if size else 0.0


def _tangent_normal(a: Circle, b: Circle, signed: tuple[float, float]) -> Point:
    """The unit left normal n of the common tangent through a + n r_a and b + n r_b (signed radii)."""
    dx, dy = b.x - a.x, b.y - a.y
    distance = hypot(dx, dy)
    if distance == 0.0:
        return 0.0, 1.0
    ux, uy = dx / distance, dy / distance
    along = max(-1.0, min(1.0, (signed[0] - signed[1]) / distance))
    across = sqrt(1.0 - along**2)
    return ux * along - uy * across, uy * along + ux * across


def _arc(roll: Circle, side: int, arriving: Point, leaving: Point) -> list[Point]:
    """The wrap: clockwise where the web lies to the left of its travel, else counter-clockwise."""
    start = atan2(side * arriving[1], side * arriving[0])
    sweep = (atan2(side * leaving[1], side * leaving[0]) - start) % (2.0 * pi)
    sweep = sweep - 2.0 * pi if side > 0 and sweep > 0 else sweep
    if abs(sweep) > 1.9 * pi:
        sweep = 0.0
    steps = max(1, int(abs(sweep) / _ARC_STEP))
    angles = [start + sweep * step / steps for step in range(steps + 1)]
    return [(roll.x + roll.r * cos(angle), roll.y + roll.r * sin(angle)) for angle in angles]
