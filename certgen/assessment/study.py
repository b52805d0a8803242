"""The reference study: what each roll, the offset line, or a free direction would cost as the reference.

Errors are slope less target, against the candidate. Slopes in mm/m, moves in mm. Against a roll, the
uncertainty is that of the difference of two slopes, in which what both share cancels. A free direction is
laid down as an angle to the present reference: as such it is exact, and the uncertainty of a roll against it
is that against the present reference.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from certgen.assessment.rules import ROUNDING
from certgen.engine.coverage import coverage_factor, expand, has_finite_dof
from certgen.engine.differences import Differences
from certgen.engine.estimate import Estimate, known
from certgen.engine.growth import parallel_target
from certgen.engine.network import Network
from certgen.engine.solution import Aspect, Solution
from certgen.engine.study import Cost, Stand, Stands, best_direction, cost, cost_of, side_by_side
from certgen.engine.travel import room
from certgen.errors import CannotCompute
from certgen.survey.survey import Limit, Roll, Round, Survey
from certgen.survey.unread import Unread, reference_was_moved

Kind = Literal["roll", "line", "free"]


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


@dataclass(frozen=True)
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
    line = _line(solution, which)
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
        return self._side_by_side.against(errors, widths).without(reference)

    @cached_property
    def _side_by_side(self) -> Stands:
        return side_by_side(self.stands)

    @cached_property
    def _differences(self) -> Differences:
        return Differences(self.errors)

    def _guards(self, reference: str) -> Mapping[str, float]:
        """What the rule takes off each limit against a roll, as `_guard` of every difference."""
        stated = self.survey.uncertainty
        if self.survey.decision == "simple":
            return dict.fromkeys(self.limits, 0.0)
        if has_finite_dof(self.network, stated):  # each difference has a k of its own
            against = self.errors[reference]
            return {name: self._guard(self.errors[name] - against) for name in self.limits}
        k = coverage_factor(stated.coverage)
        return {name: k * u for name, u in self._differences.u(reference).items()}

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


def _line(solution: Solution, which: Round) -> _Line:
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
    return _Line(survey, which, aspect.network, rolls, errors)


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
