"""How the rolls stood at one moment of a visit, and against which reference visits can be held together."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from certgen.assessment.assessment import AspectName
from certgen.engine.between import Seen
from certgen.engine.estimate import known
from certgen.engine.solution import Solution
from certgen.errors import CannotCompute
from certgen.survey.survey import Round, Survey
from certgen.survey.unread import Unread, reference_was_moved


@dataclass(frozen=True, eq=False)
class Moment:
    """One round of a visit. `names` are its roll ids with the names the rolls go by over all visits."""

    solution: Solution
    round: Round
    names: Mapping[str, str]

    @property
    def survey(self) -> Survey:
        """The survey of the visit."""
        return self.solution.survey

    @property
    def day(self) -> date:
        """The day it stands for: as found the first day of the work, as left the last."""
        visit = self.survey.visit
        return visit.started if self.round == "as_found" else visit.finished

    def slopes(self, aspect: AspectName, *, read: bool = False) -> dict[str, Seen]:
        """Return the slopes (mm/m) by name, parallel against the visit's own reference.

        What was not read as left stands as it was found, save where an adjustment was reported; none of it
        does where only what was `read` in the round is wanted.
        """
        solved = self.solution.level if aspect == "level" else self.solution.parallel
        if solved is None:
            return {}
        rounds: tuple[Round, ...] = (
            ("as_found", "as_left") if self.round == "as_left" and not read else (self.round,)
        )
        found = {roll: slope for which in rounds for (roll, w), slope in solved.slopes.items() if w == which}
        lost = self.lost(aspect)
        found = {roll: slope for roll, slope in found.items() if self.names[roll] not in lost}
        own = self.survey.reference.roll
        zero = self.round == "as_left" or not reference_was_moved(self.survey)
        if aspect == "parallel" and own is not None and zero:
            found.setdefault(own, known(0.0, len(solved.network.shared.columns)))
        return {self.names[roll]: Seen(slope, solved.network, self.survey) for roll, slope in found.items()}

    def lost(self, aspect: AspectName) -> frozenset[str]:
        """Return the names of rolls that no reading tells of as they stand: moved, or read and set aside."""
        solved = self.solution.level if aspect == "level" else self.solution.parallel
        if solved is None or self.round == "as_found":
            return frozenset()
        unread = Unread(self.survey)
        gone = {"moved, not read again", "reading set aside"}
        rolls = (roll for roll in self.survey.rolls if unread.reason(aspect, roll, "as_left") in gone)
        return frozenset(self.names[roll.id] for roll in rolls)


@dataclass(frozen=True, slots=True)
class CommonReference:
    """What parallel is held against at every moment: a roll by its name, or an offset line (roll None).

    `brought` says whether some visit had another reference, so that its slopes are brought to this one.
    """

    roll: str | None
    monuments: tuple[str, ...] = ()
    brought: bool = False


def common_reference(moments: Sequence[Moment], wanted: str | None = None) -> CommonReference | None:
    """Return the reference common to all moments; None where parallel was not surveyed in one of them.

    The roll that is `wanted`; else the same offset line; else the reference roll of the latest visit whose
    reference was measured at all. Where the moments are the rounds of one visit it must have been read in
    each, as what is judged between them. Raises CannotCompute where there is none.
    """
    one_visit = len({id(moment.solution) for moment in moments}) == 1
    seen = [set(moment.slopes("parallel", read=one_visit)) for moment in moments]
    if not all(seen):
        return None
    latest = moments[-1]
    names = (latest.names[roll.id] for roll in latest.survey.rolls)
    everywhere = [name for name in names if all(name in found for found in seen)]
    own = [_own(moment) for moment in moments]
    if one_visit and reference_was_moved(latest.survey) and wanted in (None, own[-1]):
        others = [name for name in everywhere if name != own[-1]]
        message = (
            f"The reference, roll {own[-1]}, was moved between the rounds, so nothing is held against it."
        )
        raise CannotCompute(f"{message} {_choice(others)}")
    if wanted is not None:
        return _wanted(wanted, everywhere, own)
    lines = {frozenset(moment.survey.reference.monuments) for moment in moments}
    if own == [None] * len(own) and len(lines) == 1:
        return CommonReference(None, moments[-1].survey.reference.monuments)
    roll = next((name for name in reversed(own) if name in everywhere), None)
    if roll is None:
        raise CannotCompute(f"The visits have no reference in common. {_choice(everywhere)}")
    return CommonReference(roll, brought=any(name != roll for name in own))


def _own(moment: Moment) -> str | None:
    roll = moment.survey.reference.roll
    return None if roll is None else moment.names[roll]


def _wanted(wanted: str, everywhere: Sequence[str], own: Sequence[str | None]) -> CommonReference:
    if wanted not in everywhere:
        message = f"Roll {wanted} was not measured for parallel every time, so it cannot be the reference."
        raise CannotCompute(f"{message} {_choice(everywhere)}")
    return CommonReference(wanted, brought=any(name != wanted for name in own))


def _choice(everywhere: Sequence[str]) -> str:
    if not everywhere:
        return "No roll was measured for parallel every time."
    return f"Measured every time, and to be named with --reference: {', '.join(everywhere)}."


def against(slopes: Mapping[str, Seen], reference: CommonReference | None) -> dict[str, Seen]:
    """Return slopes against a common reference of the same moment; level slopes (None) stay as they are."""
    if reference is None or reference.roll is None:
        return dict(slopes)
    zero = slopes[reference.roll]
    return {name: slope.less(zero) for name, slope in slopes.items()}
