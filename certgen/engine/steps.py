"""From an error slope to the moves at both bearings that take it out, within their travel and the shims.

A step moves one bearing while the roll turns about the other. Amounts in mm, downstream or up; slopes in
mm/m, (drive end - operator end) over the bearing distance.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from certgen.engine.moves import bearing_move_mm, split_move_mm
from certgen.engine.shims import ShimPack, pack
from certgen.engine.travel import ROUNDING_MM, SIDES, Room
from certgen.survey.survey import Roll, ShimStock, Side

Way = Literal["one_bearing", "raise_only", "split"]


@dataclass(frozen=True, slots=True)
class Step:
    """One move of one bearing, from the slope before it to the slope it aims at.

    `amount_mm` is what is to be moved, within the travel; `shims` are for a raise from a stock, and then
    `after_mm_per_m` is the slope that they bring, else it is the slope aimed at.
    """

    side: Side
    amount_mm: float
    before_mm_per_m: float
    aim_mm_per_m: float
    after_mm_per_m: float
    shims: ShimPack | None = None


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another way to the same target: moves (operator, drive), None where it cannot be had that way.

    `fits` says whether both moves are within the travel.
    """

    way: Way
    moves_mm: tuple[float, float] | None
    fits: bool


def effect_mm_per_m(side: Side, amount_mm: float, bearings_mm: float) -> float:
    """Return what a move at one bearing adds to the slope. Source: plane geometry, small angles."""
    slope = 1000.0 * amount_mm / bearings_mm
    return slope if side == "drive" else -slope


def other(side: Side) -> Side:
    """Return the bearing across the machine."""
    return "operator" if side == "drive" else "drive"


def steps(
    roll: Roll, first: Side, slopes: tuple[float, float], rooms: Mapping[Side, Room], stock: ShimStock | None
) -> tuple[Step, ...]:
    """Return the steps from the first of two slopes (as it is, target), beginning at the bearing `first`.

    What the travel of that bearing leaves, the other one takes as far as its own travel lets it. `stock` is
    None for moves without shims.
    """
    slope, target = slopes
    found: list[Step] = []
    left = slope - target
    for side in (first, other(first)):
        amount = rooms[side].within(bearing_move_mm(left, roll.bearings_mm, side)) + 0.0
        if abs(amount) > ROUNDING_MM:
            before = found[-1].after_mm_per_m if found else slope
            found.append(_step(roll, side, amount, before, (stock, rooms[side])))
        left += effect_mm_per_m(side, amount, roll.bearings_mm)
    return tuple(found)


def _step(roll: Roll, side: Side, amount: float, before: float, means: tuple[ShimStock | None, Room]) -> Step:
    stock, room = means
    shims = None if stock is None else pack(stock, amount, room.most_mm)
    done = amount if shims is None else shims.total_mm
    aim, after = (before + effect_mm_per_m(side, by, roll.bearings_mm) for by in (amount, done))
    return Step(side, amount, before, aim, after, shims)


def alternatives(
    roll: Roll, first: Side, error_mm_per_m: float, rooms: Mapping[Side, Room], *, raising: bool
) -> Iterator[Alternative]:
    """Yield the ways to take out an error: one bearing, raising only (for level), about the centre."""
    amount = bearing_move_mm(error_mm_per_m, roll.bearings_mm, first)
    one = (amount, 0.0) if first == "operator" else (0.0, amount)
    yield _alternative("one_bearing", one, rooms)
    if raising:
        yield _alternative("raise_only", one if amount >= -ROUNDING_MM else None, rooms)
    if roll.adjustable == "both":
        yield _alternative("split", split_move_mm(error_mm_per_m, roll.bearings_mm), rooms)


def _alternative(way: Way, moves: tuple[float, float] | None, rooms: Mapping[Side, Room]) -> Alternative:
    pairs = [] if moves is None else zip(SIDES, moves, strict=True)
    fits = moves is not None and all(rooms[side].within(amount) == amount for side, amount in pairs)
    return Alternative(way, moves, fits)
