"""From an error slope to the moves at both bearings that take it out, within travel and with shims.

Thicknesses are whole numbers of a nanometre here, so sums and ties are exact: an inch size to five decimals
and a millimetre size to six are whole numbers of it. What sums so many pieces can make is kept as the bits
of one integer; adding a size to every sum at once is a shift. Source: the usual dynamic programme for
subset sums with repetition, here with the number of pieces as its stage.

A step moves one bearing while the roll turns about the other. Amounts in mm, downstream or up; slopes in
mm/m, (drive end - operator end) over the bearing distance.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import gcd, inf
from typing import Literal

from certgen.assessment.assessment import AspectName
from certgen.assessment.rules import level_target
from certgen.network.solution import Solution
from certgen.survey.survey import ROUNDS, BearingTravel, Roll, Round, ShimStock, Side, Survey

_NO_ERROR_MM_PER_M = 1e-9  # an error so small is rounding of the arithmetic
# up takes a roll level, downstream takes it parallel; the opposite ways are negative
Direction = Literal["up", "downstream"]
SIDES: tuple[Side, Side] = ("operator", "drive")
ROUNDING_MM = 1e-9  # a move so small, or so little beyond the travel, is rounding of the arithmetic
_PER_MM = 1_000_000
# Beyond so many steps of the stock's common measure the measure is made coarser: that only happens to a
# stock without a sensible common measure, and then leaves a four-millionth of the thickness.
_MOST_STEPS = 1 << 22
Way = Literal["one_bearing", "raise_only", "split"]


@dataclass(frozen=True, slots=True)
class Move:
    """One move of one bearing: `amount_mm` is downstream (parallel) or up (level); the other bearing stays.

    `stop_reading_mm` is the live reading to stop at (parallel only), in the engine's sign, positive
    downstream: target left at the far position from the turning bearing, near one zeroed before.
    `split_mm` is the alternative about the centre, (operator, drive); None where one bearing cannot move.
    """

    side: Side
    amount_mm: float
    stop_reading_mm: float | None = None
    split_mm: tuple[float, float] | None = None


def bearing_move_mm(error_mm_per_m: float, bearings_mm: float, side: Side) -> float:
    """Return the move that takes out an error slope by turning the roll about its other bearing.

    The slope is (drive end - operator end) / bearing distance, so the drive bearing moves against the error
    and the operator bearing with it. Source: plane geometry, small angles.
    """
    amount = error_mm_per_m * bearings_mm / 1000.0
    return -amount if side == "drive" else amount


def aim_mm(pivot_to_near_mm: float, near_to_far_mm: float, far_mm: float) -> float:
    """Return the far reading to aim at, near one zeroed, so that after turning both ends read the same.

    The pivot lies `pivot_to_near_mm` before the near target, and the far target `near_to_far_mm` behind it.
    Source: similar triangles.
    """
    return -(pivot_to_near_mm / near_to_far_mm) * far_mm


def stop_reading_mm(
    roll: Roll, side: Side, slope_mm_per_m: float, target_mm_per_m: float, azimuth: float
) -> float:
    """Return the live reading to stop at when `side` is moved, target at the far end, near end zeroed.

    The far end reads (slope - azimuth) * (far - near) before the move and gains (target - slope) times its
    distance from the turning bearing. With azimuth and target zero this is `aim_mm`. Slopes and `azimuth`
    (direction of the laser's cross plane) in mm/m. Needs the roll's targets.
    """
    if roll.targets_mm is None:
        msg = f"roll {roll.id} has no target positions"
        raise ValueError(msg)
    operator, drive = roll.targets_mm
    near, far, turning = (operator, drive, 0.0) if side == "drive" else (drive, operator, roll.bearings_mm)
    before = (slope_mm_per_m - azimuth) * (far - near)
    return (before + (target_mm_per_m - slope_mm_per_m) * (far - turning)) / 1000.0


def raising_side(roll: Roll, error_mm_per_m: float) -> Side | None:
    """Return the bearing to move for a level error: where both can, the one to be raised; None if neither."""
    if roll.adjustable == "both":
        return "operator" if error_mm_per_m > _NO_ERROR_MM_PER_M else "drive"
    return None if roll.adjustable == "none" else roll.adjustable


def split_move_mm(error_mm_per_m: float, bearings_mm: float) -> tuple[float, float]:
    """Return the moves (operator, drive) that take out an error by turning the roll about its centre."""
    half = error_mm_per_m * bearings_mm / 2000.0
    return half, -half


@dataclass(frozen=True, slots=True)
class Room:
    """The moves one bearing still has in a direction: from `least_mm` (0 or negative) to `most_mm`.

    Infinite where no limit was stated.
    """

    least_mm: float = -inf
    most_mm: float = inf

    def within(self, amount_mm: float) -> float:
        """Return as much of a move as there is room for."""
        if self.least_mm - ROUNDING_MM <= amount_mm <= self.most_mm + ROUNDING_MM:
            return amount_mm
        return min(max(amount_mm, self.least_mm), self.most_mm)


def room(survey: Survey, roll: Roll, side: Side, direction: Direction, which: Round) -> Room:
    """Return the room of one bearing in one direction, none at a bearing that cannot be adjusted.

    Travel is stated from where the bearing was found, so as left what was reported is taken off it.
    """
    if roll.adjustable not in (side, "both"):
        return Room(0.0, 0.0)
    forth, back = _limits(getattr(roll.travel, side), direction)
    moved = reported_mm(survey, roll.id, side, direction) if which == "as_left" else 0.0
    return Room(min(0.0, -back - moved), max(0.0, forth - moved))


def reported_mm(survey: Survey, roll: str, side: Side, direction: Direction) -> float:
    """Return what the survey's `adjustments` add up to at one bearing; 0 where nothing was reported."""
    made = (one for one in survey.adjustments if (one.roll, one.side) == (roll, side))
    return sum(((one.up_mm if direction == "up" else one.downstream_mm) or 0.0 for one in made), 0.0)


def _limits(travel: BearingTravel, direction: Direction) -> tuple[float, float]:
    up = direction == "up"
    forth, back = (travel.up_mm, travel.down_mm) if up else (travel.downstream_mm, travel.upstream_mm)
    return inf if forth is None else forth, inf if back is None else back


@dataclass(frozen=True, slots=True)
class ShimPack:
    """Shims to lay under one bearing, thickest first; `residual_mm` is the wanted thickness less the total.

    A pack without pieces says that no shim in stock brings the bearing nearer.
    """

    pieces_mm: tuple[float, ...]
    total_mm: float
    residual_mm: float


def pack(stock: ShimStock, wanted_mm: float, most_mm: float = inf) -> ShimPack | None:
    """Return the pack nearest to `wanted_mm`, then with the fewest pieces, then the thinner, thickest first.

    Never thicker than `most_mm`. None where nothing is to be raised: shims are only added.
    """
    wanted = round(wanted_mm * _PER_MM)
    if wanted <= 0:
        return None
    sizes = sorted({round(size * _PER_MM) for size in stock.stock_mm}, reverse=True)
    # a sum beyond twice the wanted one is worse than no shim at all
    limit = min(round(min(2.0 * wanted_mm, most_mm) * _PER_MM), stock.max * sizes[0])
    pieces = _pieces([size for size in sizes if size <= limit], min(wanted, limit), limit, stock.max)
    total = sum(pieces) / _PER_MM
    return ShimPack(tuple(size / _PER_MM for size in pieces), total, wanted_mm - total)


def _pieces(sizes: list[int], wanted: int, limit: int, most: int) -> list[int]:
    """Return the pieces in nanometres; sizes come thickest first and sums stay within `limit`."""
    if not sizes:
        return []
    step = max(gcd(*sizes), -(-limit // _MOST_STEPS))
    steps = {size: max(1, round(size / step)) for size in sizes}
    stages = _stages(list(steps.values()), limit // step, most)
    count, total = min(
        ((count, total) for count, sums in enumerate(stages) for total in _around(sums, wanted // step)),
        key=lambda found: (abs(found[1] * step - wanted), *found),
    )
    return _taken(steps, stages, count, total)


def _stages(steps: list[int], limit: int, most: int) -> list[int]:
    """Return, for each number of pieces from none, the sums it can make as bits; none beyond `limit`."""
    mask = (1 << (limit + 1)) - 1
    stages = [1]
    while len(stages) <= most and stages[-1]:
        sums = 0
        for step in steps:
            sums |= stages[-1] << step
        stages.append(sums & mask)
    return stages


def _around(sums: int, wanted: int) -> list[int]:
    """Return the largest sum not above the wanted one and the smallest above it, where there are such."""
    below, above = sums & ((1 << (wanted + 1)) - 1), sums >> (wanted + 1)
    found = [below.bit_length() - 1] if below else []
    return [*found, (above & -above).bit_length() + wanted] if above else found


def _taken(steps: dict[int, int], stages: list[int], count: int, total: int) -> list[int]:
    """Return `count` sizes that make the sum, the thickest possible first."""
    taken: list[int] = []
    for left in range(count - 1, -1, -1):
        size = next(s for s, step in steps.items() if step <= total and stages[left] >> (total - step) & 1)
        taken.append(size)
        total -= steps[size]
    return taken


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


def movable(survey: Survey, name: AspectName, roll: Roll) -> bool:
    """Return whether an aspect of a roll can be moved: not of a fixed roll, nor the reference downstream."""
    return roll.adjustable != "none" and not (name == "parallel" and roll.id == survey.reference.roll)


def move_of(solution: Solution, name: AspectName, roll: Roll, which: Round, error_mm_per_m: float) -> Move:
    """Return the move from the state measured in a round to the target, for a roll that can be moved."""
    raised = raising_side(roll, error_mm_per_m) or "drive"
    side = raised
    if name == "parallel" and roll.adjustable == "both":
        side = _parallel_side(solution, roll, which, error_mm_per_m)
    split = split_move_mm(error_mm_per_m, roll.bearings_mm) if roll.adjustable == "both" else None
    return Move(side, bearing_move_mm(error_mm_per_m, roll.bearings_mm, side), split_mm=split)


def _parallel_side(solution: Solution, roll: Roll, which: Round, error_mm_per_m: float) -> Side:
    """Where both bearings can move: the one that is raised for level, unless only the other has the room."""
    # the bearing to raise for level in that round, else in the other; the drive side where none was read
    slopes = {} if solution.level is None else solution.level.slopes
    found = next((slopes[roll.id, r] for r in (which, *ROUNDS) if (roll.id, r) in slopes), None)
    low = "drive" if found is None else raising_side(roll, found.value - level_target(roll)) or "drive"

    def fits(side: Side) -> bool:
        amount = bearing_move_mm(error_mm_per_m, roll.bearings_mm, side)
        return room(solution.survey, roll, side, "downstream", which).within(amount) == amount

    return next((side for side in (low, other(low)) if fits(side)), low)
