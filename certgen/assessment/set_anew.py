"""Where the laser was set up anew: the roll that tells how it stands, and what the survey says of that roll.

With its far target read after the near one was zeroed, a roll shows (slope - azimuth) (far - near). A laser
that was set up anew differs in its azimuth alone, so a roll that stayed put shows today what it showed in the
survey plus (old - new azimuth) (far - near). Every stop-at reading changes by the same, zeroed on the same
side, times the ratio of the distances between the targets. Source: plane geometry, small angles; held against
exact rotated planes in the tests.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from certgen.assessment.assessment import Assessment, Measured
from certgen.assessment.plan import plan_of
from certgen.engine.kept import kept
from certgen.engine.moves import stop_reading_mm
from certgen.engine.steps import other
from certgen.engine.travel import SIDES
from certgen.survey.survey import Roll, Side


@dataclass(frozen=True, slots=True)
class Witness:
    """A roll that was measured in a setup and stays put.

    `shown_mm` is what its other end shows by the survey once the end on that side was zeroed, mm, positive
    downstream, all readings adjusted together.
    """

    roll: Roll
    shown_mm: Mapping[Side, float]

    @property
    def apart_mm(self) -> float:
        """The distance between the targets of this roll."""
        return _distance(self.roll)

    def factor(self, roll: Roll) -> float:
        """Return how many times the change of this roll's reading a stop-at reading of `roll` takes."""
        return _distance(roll) / self.apart_mm


def witness(assessment: Assessment, setup: str) -> Witness | None:
    """Return the roll to measure first once the laser of that setup was set up anew; None if there is none.

    The reference comes first, then a roll that cannot be moved, then any other that is not to be moved; those
    that the proof puts in doubt come last.
    """
    survey = kept(assessment.survey)
    read = {reading.roll for one in survey.setups if one.id == setup for reading in one.readings}
    stay = [plan.roll for plan in plan_of(assessment).rolls if plan.roll.id in read and not plan.to_move]
    stay = [roll for roll in stay if roll.targets_mm is not None and _slope(assessment, roll) is not None]
    if not stay:
        return None
    best = min(
        stay,
        key=lambda roll: (
            _in_doubt(assessment, roll),
            roll.id != survey.reference.roll,
            roll.adjustable != "none",
        ),
    )
    slope, azimuth = _slope(assessment, best) or 0.0, assessment.solution.azimuth(setup).value
    # nothing is moved, so that what is stopped at is what is read
    shown = {side: stop_reading_mm(best, other(side), slope, slope, azimuth) for side in SIDES}
    return Witness(best, shown)


def _slope(assessment: Assessment, roll: Roll) -> float | None:
    """The parallel slope of the roll as it stands now."""
    state = _state(assessment, roll)
    return None if state is None else state.slope_mm_per_m


def _state(assessment: Assessment, roll: Roll) -> Measured | None:
    return next(one for one in assessment.rolls if one.id == roll.id).parallel.standing


def _in_doubt(assessment: Assessment, roll: Roll) -> bool:
    return bool(
        assessment.doubts["parallel"].on_roll(roll.id, assessment.last_round, _state(assessment, roll))
    )


def _distance(roll: Roll) -> float:
    operator, drive = roll.targets_mm or (0.0, 0.0)
    return drive - operator
