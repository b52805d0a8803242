"""How far a bearing can still be moved, and what was reported to have been moved. Lengths in mm."""

from dataclasses import dataclass
from math import inf
from typing import Literal

from certgen.survey.survey import BearingTravel, Roll, Round, Side, Survey

# up takes a roll level, downstream takes it parallel; the opposite ways are negative
Direction = Literal["up", "downstream"]
SIDES: tuple[Side, Side] = ("operator", "drive")
ROUNDING_MM = 1e-9  # a move so small, or so little beyond the travel, is rounding of the arithmetic


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
