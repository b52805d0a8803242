"""What a survey leaves not measured, by roll, aspect and round, and why.

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
        return roll.adjustable == "none" or (own and not self._reference_was_moved)

    def _not_left(self, name: AspectName, roll: Roll) -> Reason | None:
        found = (name, roll.id, "as_found") in self._kept
        if not self._surveyed_left:
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
            if self.stays(name, roll) and self._surveyed_found:
                return None
            return "reading set aside" if (name, roll.id, "as_found") in self._aside else "read only as left"
        return self._never(name, roll)

    def _never(self, name: AspectName, roll: Roll) -> Reason:
        aside = any((name, roll.id, which) in self._aside for which in ROUNDS)
        return "reading set aside" if aside else "not read yet"

    @cached_property
    def _surveyed_left(self) -> bool:
        return self.surveyed("as_left")

    @cached_property
    def _surveyed_found(self) -> bool:
        return self.surveyed("as_found")

    @cached_property
    def _reference_was_moved(self) -> bool:
        return reference_was_moved(self.survey)

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
