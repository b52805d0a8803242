"""What a survey leaves not measured, by roll, aspect and round, and why; and the warnings that say so.

A reading tells how a roll stands until something may have moved it. So a roll that was not read as left
stands as it was found only where nothing was reported to have moved it in that aspect (`up` moves its level,
`downstream` its parallel: to first order neither moves the other) and no as-left reading of it was set aside,
which says that somebody had reason to read it again. As found it has no value where it was read only as left.
A roll that cannot be adjusted has one slope in both rounds, and a reference that stayed is zero in both.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from certgen.findings import Finding, Place
from certgen.survey.edition import FIRST
from certgen.survey.survey import (
    ROUNDS,
    Adjustment,
    HeightReading,
    Limit,
    Roll,
    RollReading,
    Round,
    SlopeReading,
    Survey,
)

AspectName = Literal["parallel", "level"]
ASPECTS: tuple[AspectName, AspectName] = ("level", "parallel")
Reason = Literal[
    "moved, not read again", "reading set aside", "read only as left", "not read yet", "not read as left"
]
# an amount so small is no move: what is left of a zero after a conversion of units
_NO_MOVE_MM = 1e-9

Key = tuple[AspectName, str, Round]
_Reading = RollReading | SlopeReading | HeightReading
_CLAUSE = "ISO/IEC 17025:2017, 7.8.4.1 d)"  # results before and after any adjustment, if available
_SECTION = {"level": "level", "parallel": "setups"}


def readings(survey: Survey, name: AspectName) -> Iterator[_Reading]:
    """Yield every reading of rolls in one aspect, those that are set aside as well."""
    if name == "parallel":
        for setup in survey.setups:
            yield from setup.readings
    elif survey.level is not None:
        yield from survey.level.slopes
        yield from survey.level.heights


def moved_mm(made: Adjustment, name: AspectName) -> float | None:
    """Return what one adjustment moved in an aspect, in mm; None where it moved nothing."""
    amount = made.up_mm if name == "level" else made.downstream_mm
    return None if amount is None or abs(amount) < _NO_MOVE_MM else amount


def moved(survey: Survey, name: AspectName, roll: str) -> bool:
    """Return whether a move of that aspect was reported of a roll."""
    return any(made.roll == roll and moved_mm(made, name) is not None for made in survey.adjustments)


def reference_was_moved(survey: Survey) -> bool:
    """Return whether parallel is held against a roll that was moved; the first edition never asked."""
    roll = survey.reference.roll
    return survey.edition > FIRST and roll is not None and moved(survey, "parallel", roll)


def not_moved(survey: Survey, name: AspectName) -> frozenset[str]:
    """Return the rolls of which no move of that aspect was reported."""
    made = {one.roll for one in survey.adjustments if moved_mm(one, name) is not None}
    return frozenset(roll.id for roll in survey.rolls) - made


def limit_of(roll: Roll, name: AspectName) -> Limit | None:
    """Return the tolerance that holds for a roll in an aspect."""
    return roll.level_limit if name == "level" else roll.parallel_limit


@dataclass(frozen=True)
class Unread:
    """Which reading stands for each roll, aspect and round of a survey, and why where none does."""

    survey: Survey

    def surveyed(self, which: Round) -> bool:
        """Return whether anything was read in a round; as left, also whether anything was moved."""
        if self.survey.edition == FIRST:
            return True
        read = any(key[2] == which for key in (*self._kept, *self._aside))
        return read or (which == "as_left" and bool(self._moved))

    def stands_by(self, name: AspectName, roll: Roll, which: Round) -> Round | None:
        """Return the round whose reading tells how a roll stands in a round; None where none does."""
        if (name, roll.id, which) in self._kept:
            return which
        other: Round = "as_found" if which == "as_left" else "as_left"
        if (name, roll.id, other) not in self._kept or self.reason(name, roll, which) is not None:
            return None
        return other if which == "as_left" or self.survey.edition > FIRST else None

    def reason(self, name: AspectName, roll: Roll, which: Round) -> Reason | None:
        """Return why a roll is not measured in a round; None where it is, and in the first edition."""
        if self.survey.edition == FIRST or (name, roll.id, which) in self._kept:
            return None
        return self._not_left(name, roll) if which == "as_left" else self._not_found(name, roll)

    def stays(self, name: AspectName, roll: Roll) -> bool:
        """Return whether a roll has one slope in both rounds, whatever was reported."""
        own = name == "parallel" and roll.id == self.survey.reference.roll
        return roll.adjustable == "none" or (own and not reference_was_moved(self.survey))

    def _not_left(self, name: AspectName, roll: Roll) -> Reason | None:
        found = (name, roll.id, "as_found") in self._kept
        if not self.surveyed("as_left"):
            return "not read as left"
        if found and self.stays(name, roll):
            return None
        if (name, roll.id) in self._moved:
            return "moved, not read again"
        if (name, roll.id, "as_left") in self._aside:
            return "reading set aside"
        return None if found else self._never(name, roll)

    def _not_found(self, name: AspectName, roll: Roll) -> Reason | None:
        if (name, roll.id, "as_left") in self._kept:
            if self.stays(name, roll) and self.surveyed("as_found"):
                return None
            return "reading set aside" if (name, roll.id, "as_found") in self._aside else "read only as left"
        return self._never(name, roll)

    def _never(self, name: AspectName, roll: Roll) -> Reason:
        aside = any((name, roll.id, which) in self._aside for which in ROUNDS)
        return "reading set aside" if aside else "not read yet"

    @cached_property
    def _moved(self) -> frozenset[tuple[AspectName, str]]:
        made = self.survey.adjustments
        return frozenset((n, one.roll) for one in made for n in ASPECTS if moved_mm(one, n) is not None)

    @cached_property
    def _kept(self) -> frozenset[Key]:
        return frozenset(self._keys(aside=False))

    @cached_property
    def _aside(self) -> frozenset[Key]:
        return frozenset(self._keys(aside=True))

    def _keys(self, *, aside: bool) -> Iterator[Key]:
        for name in ASPECTS:
            for one in readings(self.survey, name):
                if (one.exclude is not None) == aside:
                    yield name, one.roll, one.round


def unread_findings(survey: Survey) -> tuple[Finding, ...]:
    """Return a warning for every tolerance that will not be judged in a round of which there was a survey."""
    if survey.edition == FIRST:
        return ()
    return tuple(found for name in ASPECTS for found in _aspect(survey, name))


def _aspect(survey: Survey, name: AspectName) -> Iterator[Finding]:
    judged = [roll for roll in survey.rolls if _judged(survey, name, roll)]
    if not judged:
        return
    if not any(True for _ in readings(survey, name)):
        yield _nowhere(survey, name)
        return
    unread = Unread(survey)
    rounds = [which for which in ROUNDS if unread.surveyed(which)]
    for roll in judged:
        reasons = {which: reason for which in rounds if (reason := unread.reason(name, roll, which))}
        if "not read yet" in reasons.values():
            yield _never(survey, name, roll)
            continue
        for which, reason in reasons.items():
            yield _finding(survey, name, roll, (which, reason))


def _judged(survey: Survey, name: AspectName, roll: Roll) -> bool:
    own = name == "parallel" and roll.id == survey.reference.roll
    return limit_of(roll, name) is not None and not own


def _nowhere(survey: Survey, name: AspectName) -> Finding:
    where = f"tolerances.{name}"
    message = f"no {name} was read, so that no roll can be shown to keep this tolerance"
    hint = (
        f"Add the readings to `{_SECTION[name]}:`, or remove the tolerance where it is not part of the work."
    )
    return _warning(survey, where, message, hint)


def _never(survey: Survey, name: AspectName, roll: Roll) -> Finding:
    where = f"rolls[{survey.rolls.index(roll)}].id"
    message = f"roll {roll.id} is not measured for {name}, so that the line cannot be shown to pass"
    hint = f"Add its readings to `{_SECTION[name]}:` if there are any."
    return _warning(survey, where, message, hint)


def _finding(survey: Survey, name: AspectName, roll: Roll, found: tuple[Round, Reason]) -> Finding:
    which, reason = found
    words = which.replace("_", " ")
    if reason == "moved, not read again":
        where = next(
            f"adjustments[{index}].{'up' if name == 'level' else 'downstream'}"
            for index, made in enumerate(survey.adjustments)
            if made.roll == roll.id and moved_mm(made, name) is not None
        )
        what = "raised or lowered" if name == "level" else "moved upstream or downstream"
        message = f"roll {roll.id} was {what} and its {name} not read again, which {_CLAUSE} asks for: "
        return _warning(survey, where, f"{message}not measured {words}", _add(name, which, roll))
    if reason == "reading set aside":
        where = next(
            one.where
            for one in reversed(list(readings(survey, name)))
            if one.roll == roll.id and one.exclude is not None
        )
        message = f"no other {name} reading of roll {roll.id} tells how it stood {words}: not measured"
        return _warning(survey, where, message, _add(name, which, roll, again=True))
    where = f"rolls[{survey.rolls.index(roll)}].id"
    message = f"roll {roll.id} was read for {name} only as left: not measured {words}"
    return _warning(survey, where, message, _add(name, which, roll))


def _add(name: AspectName, which: Round, roll: Roll, *, again: bool = False) -> str:
    """What would be right: the reading, under the keys that it belongs to."""
    owner = "level:" if name == "level" else "a setup"
    keys = f"`{which}: {{{roll.id}: ...}}`"
    if which == "as_found" or again:
        return f"Add a reading of it under {keys} in {owner} if there is one; the certificate says so else."
    return f"Read it again and add it under {keys} in {owner}."


def _warning(survey: Survey, where: str, message: str, hint: str) -> Finding:
    return Finding("warning", survey.places.get(where, Place(1, 1)), where, message, hint)
