"""The reference study: what each roll, the offset line, or a free direction would cost as the reference.

Everything is measured against the present reference. A roll stands at an error (slope less target); against
a reference turned to the direction d its error is that less d. It passes for a closed band of directions, so
counts change only at the ends of bands and the total move is linear between: the cheapest direction is found
exactly by sorting those ends. Slopes in mm/m, positive where the drive end lies downstream; moves in mm.
Derived in docs/reference_study.md.

Errors are slope less target, against the candidate. Slopes in mm/m, moves in mm. Against a roll, the
uncertainty is that of the difference of two slopes, in which what both share cancels. A free direction is
laid down as an angle to the present reference: as such it is exact, and the uncertainty of a roll against it
is that against the present reference.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property
from math import inf, isfinite
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from certgen.assessment.rules import ROUNDING, parallel_target
from certgen.errors import CannotCompute
from certgen.moves.steps import ROUNDING_MM, room
from certgen.network.least_squares import Estimate, Network, known
from certgen.network.solution import Aspect, Solution
from certgen.network.uncertainty import Differences, coverage_factor, expand, has_finite_dof
from certgen.survey.survey import Limit, Roll, Round, Survey
from certgen.survey.unread import Unread, reference_was_moved

Array = NDArray[np.float64]

# Totals nearer to each other are equal: what is left is rounding of sums (a millionth of a micrometre).
_SAME_MM = 1e-9
Kind = Literal["roll", "line", "free"]


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


@dataclass(frozen=True, slots=True)
class Candidate:
    """One reference that could be: a roll by its `id`, the offset line, or the free direction.

    `direction_mm_per_m` is where it points in the running condition, against the present reference, and
    `judged` how many rolls are judged against it (a roll is not judged against itself).
    """

    kind: Kind
    id: str | None
    present: bool
    direction_mm_per_m: float
    judged: int
    cost: Cost


@dataclass(frozen=True, slots=True)
class Study:
    """All candidates, the cheapest first. `stands` are the rolls against the present reference."""

    survey: Survey
    round: Round
    coverage_factor: float
    candidates: tuple[Candidate, ...]
    stands: tuple[Stand, ...]
    not_measured: tuple[str, ...]

    @property
    def present(self) -> Candidate:
        """The reference as it is."""
        return next(candidate for candidate in self.candidates if candidate.present)

    @property
    def free(self) -> Candidate:
        """The free direction that costs least."""
        return next(candidate for candidate in self.candidates if candidate.kind == "free")

    @property
    def cheapest_roll(self) -> Candidate | None:
        """The roll that costs least as the reference; None where no roll was measured."""
        return next((candidate for candidate in self.candidates if candidate.kind == "roll"), None)


def study(solution: Solution, which: Round) -> Study:
    """Return the study of a round. Raises CannotCompute where no roll was measured for parallel in it."""
    survey, aspect = solution.survey, solution.parallel
    if aspect is None:
        raise CannotCompute("The survey holds no readings for parallel, so there is no reference to study.")
    rolls = {roll.id: roll for roll in survey.rolls}
    unread = Unread(survey)
    slopes = {name: _slope(unread, aspect, roll, which) for name, roll in rolls.items()}
    errors = {
        name: slope.shifted(-parallel_target(survey, rolls[name]))
        for name, slope in slopes.items()
        if slope is not None
    }
    if all(name == survey.reference.roll for name in errors):
        raise CannotCompute(f"No roll was measured for parallel {which.replace('_', ' ')}.")
    line = _Line(survey, which, aspect.network, rolls, errors)
    stands = line.stands
    free = best_direction(stands)
    candidates = [
        *(_roll(line, name) for name in line.errors),
        *([_direction("line", stands, 0.0)] if line.survey.reference.roll is None else []),
        _direction("free", stands, free),
    ]
    return Study(
        survey=line.survey,
        round=which,
        coverage_factor=coverage_factor(line.survey.uncertainty.coverage),
        candidates=tuple(sorted(candidates, key=_order)),
        stands=stands,
        not_measured=tuple(name for name in line.rolls if name not in line.errors),
    )


def _order(candidate: Candidate) -> tuple[tuple[int, int, int], bool, float]:
    """The cheapest first; of equals the present one, then the smaller turn."""
    return candidate.cost.rank, not candidate.present, abs(candidate.direction_mm_per_m)


@dataclass(frozen=True)
class _Line:
    """The rolls that were measured: `errors` against the present reference, in the order of the web."""

    survey: Survey
    round: Round
    network: Network
    rolls: Mapping[str, Roll]
    errors: Mapping[str, Estimate]

    @cached_property
    def stands(self) -> tuple[Stand, ...]:
        """The rolls that have a tolerance, with their errors against the present reference."""
        return tuple(self._stand(name, limit) for name, limit in self.limits.items())

    @cached_property
    def limits(self) -> Mapping[str, Limit]:
        """The tolerances of the rolls that have one, in the order of the web."""
        limits = {name: self.rolls[name].parallel_limit for name in self.errors}
        return {name: limit for name, limit in limits.items() if limit is not None}

    def against(self, reference: str) -> Stands:
        """Return the rolls that have a tolerance, with errors and half widths against a roll."""
        direction, guards = self.errors[reference].value, self._guards(reference)
        errors = [self.errors[name].value - direction for name in self.limits]
        widths = [limit.slope_mm_per_m - guards[name] for name, limit in self.limits.items()]
        return side_by_side(self.stands).against(errors, widths).without(reference)

    def _guards(self, reference: str) -> Mapping[str, float]:
        """What the rule takes off each limit against a roll, as `_guard` of every difference."""
        stated = self.survey.uncertainty
        if self.survey.decision == "simple":
            return dict.fromkeys(self.limits, 0.0)
        if has_finite_dof(self.network, stated):  # each difference has a k of its own
            against = self.errors[reference]
            return {name: self._guard(self.errors[name] - against) for name in self.limits}
        k = coverage_factor(stated.coverage)
        return {name: k * u for name, u in Differences(self.errors).u(reference).items()}

    def _stand(self, name: str, limit: Limit) -> Stand:
        roll, error = self.rolls[name], self.errors[name]
        drive, operator = (
            room(self.survey, roll, side, "downstream", self.round) for side in ("drive", "operator")
        )
        per_mm = 1000.0 / roll.bearings_mm
        return Stand(
            roll=name,
            error_mm_per_m=error.value,
            half_width_mm_per_m=limit.slope_mm_per_m - self._guard(error),
            bearings_mm=roll.bearings_mm,
            least_turn_mm_per_m=per_mm * (drive.least_mm - operator.most_mm),
            most_turn_mm_per_m=per_mm * (drive.most_mm - operator.least_mm),
            slack_mm_per_m=ROUNDING * limit.slope_mm_per_m,
        )

    def _guard(self, error: Estimate) -> float:
        """What the rule takes off the limit for a pass: U, nothing by simple acceptance."""
        if self.survey.decision == "simple":
            return 0.0
        return expand(self.network, error, self.survey.uncertainty).U


def _slope(unread: Unread, aspect: Aspect, roll: Roll, which: Round) -> Estimate | None:
    """Return the slope in a round; what was not read as left stands as it was found if it stayed."""
    survey = unread.survey
    if roll.id == survey.reference.roll and (which == "as_left" or not reference_was_moved(survey)):
        return known(0.0, len(aspect.network.shared.columns))
    read = unread.stands_by("parallel", roll, which)
    return None if read is None else aspect.judged[roll.id, read]


def _roll(line: _Line, reference: str) -> Candidate:
    direction, stands = line.errors[reference].value, line.against(reference)
    present = reference == line.survey.reference.roll
    return Candidate("roll", reference, present, direction, len(stands.rolls), cost_of(stands, 0.0))


def _direction(kind: Kind, stands: tuple[Stand, ...], direction: float) -> Candidate:
    present = kind == "line"
    return Candidate(kind, None, present, direction, len(stands), cost(stands, direction))
