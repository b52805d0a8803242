"""Which results a failed proof puts in doubt, and which moves have to wait until something was read again.

Three rules, all of our own (no source):

- The result of a roll is in doubt where a candidate of a suspect, if it is what happened, would shift the
  slope by more than a quarter of its U. That shift is the gain of the slope from the readings that would be
  off times the estimated size of the event. So is that of a pair, by the shift of its difference.
- Where the residuals are larger than stated although every suspect is set aside, every result of that aspect
  is in doubt as a whole: its U is larger by the root of chi-square over its degrees of freedom.
- A move is held back where its roll is in doubt by a candidate; where it is in doubt only as a whole, if the
  error is not larger than that larger U, so that not even the direction of the move is certain.

A reading that nothing checks raises no doubt by itself; before a move of more than a quarter of the tolerance
it should be read once more.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from certgen.network.causes import Cause
from certgen.network.equations import Label
from certgen.network.reliability import seating_of
from certgen.network.solution import Aspect, Key, Solution
from certgen.network.suspects import Candidate
from certgen.survey.edition import FIRST
from certgen.survey.survey import Round

if TYPE_CHECKING:
    from certgen.assessment.assessment import AdjacentResult, AspectName, Measured

_SHARE = 0.25


@dataclass(frozen=True, slots=True)
class Doubt:
    """One candidate of a suspect with its likely cause (None: not shown) and what it would do to each slope.

    `shifts` are by how much a slope would be off, mm/m, by roll and round that was read; `first` says whether
    it is the best explanation of its suspect, and `alone` whether the only one.
    """

    candidate: Candidate
    cause: Cause | None
    shifts: Mapping[Key, float]
    first: bool
    alone: bool

    @property
    def readings(self) -> tuple[Label, ...]:
        """What to read again: the readings that would be off; a setup that moved stands for its own."""
        labels = self.candidate.readings
        if self.candidate.kind != "setup moved":
            return labels
        return (labels[0]._replace(roll=None, side=None, series=0, where=""),)


@dataclass(frozen=True, slots=True)
class Hold:
    """Why a result is in doubt: by these candidates, or as a whole, the residuals so many times too large."""

    doubts: tuple[Doubt, ...]
    too_large: float | None

    @property
    def readings(self) -> tuple[Label, ...]:
        """What to read again, once each; nothing where no reading is named."""
        return tuple(dict.fromkeys(label for one in self.doubts for label in one.readings))


@dataclass(frozen=True, slots=True)
class AspectDoubts:
    """The doubts of one aspect: every candidate of every suspect, and how much too large the residuals are.

    `too_large` is None where the stated uncertainties explain what is left once the suspects are set aside.
    """

    name: "AspectName"
    aspect: Aspect
    every: tuple[Doubt, ...]
    too_large: float | None

    @property
    def any(self) -> bool:
        """Whether the proof of the aspect failed in some way."""
        return bool(self.every) or self.too_large is not None

    def on_roll(self, roll: str, which: Round, state: "Measured | None") -> tuple[Doubt, ...]:
        """Return the candidates that put the result of a roll in doubt; none where it was not measured."""
        return self._material([(roll, 1.0)], which, state)

    def on_pair(self, pair: tuple[str, str], which: Round, state: "Measured | None") -> tuple[Doubt, ...]:
        """Return the candidates that put the difference of two rolls in doubt, second less first."""
        return self._material([(pair[0], -1.0), (pair[1], 1.0)], which, state)

    def casts(self, roll: str, which: Round, state: "Measured | None") -> bool:
        """Return whether the result of a roll is in doubt, by a candidate or as a whole."""
        if state is None or state.verdict == "reference":
            return False
        return self.too_large is not None or bool(self.on_roll(roll, which, state))

    def casts_on_pair(self, pair: "AdjacentResult", which: Round) -> bool:
        """Return whether the difference of two adjacent rolls is in doubt, by a candidate or as a whole."""
        state = pair.aspect(self.name).get(which)
        if state is None:
            return False
        return self.too_large is not None or bool(self.on_pair((pair.from_, pair.to), which, state))

    def _material(
        self, parts: Sequence[tuple[str, float]], which: Round, state: "Measured | None"
    ) -> tuple[Doubt, ...]:
        if state is None or state.verdict == "reference":
            return ()
        # what was not read as left stands as it was found
        return tuple(
            one
            for one in self.every
            if abs(
                sum(
                    sign * one.shifts.get((roll, which), one.shifts.get((roll, "as_found"), 0.0))
                    for roll, sign in parts
                )
            )
            > _SHARE * state.U_mm_per_m
        )

    def hold(self, roll: str, which: Round, state: "Measured | None") -> Hold | None:
        """Return why a move from that state has to wait, None where nothing stands against it."""
        found = self.on_roll(roll, which, state)
        if found:
            return Hold(found, self.too_large)
        if state is None or state.verdict == "reference" or self.too_large is None:
            return None
        unsure = abs(state.error_mm_per_m) <= self.too_large * state.U_mm_per_m
        return Hold((), self.too_large) if unsure else None

    def read_once_more(self, roll: str, which: Round, state: "Measured") -> tuple[Label, ...]:
        """Return the roll's own readings that nothing checks, where the move is large enough to matter."""
        if abs(state.error_mm_per_m) <= _SHARE * state.limit_mm_per_m:
            return ()
        return tuple(
            label for label in self.aspect.quality.unchecked if label.roll == roll and label.round == which
        )


def aspect_doubts(solution: Solution, name: "AspectName") -> AspectDoubts | None:
    """Return the doubts of one aspect, None where it was not surveyed.

    By the first edition of the rules nothing was in doubt and no move held back.
    """
    aspect = solution.aspect(name)
    if aspect is None:
        return None
    if solution.survey.edition == FIRST:
        return AspectDoubts(name, aspect, (), None)
    return AspectDoubts(name, aspect, tuple(_doubts(aspect)), aspect.quality.too_large)


def _doubts(aspect: Aspect) -> Iterator[Doubt]:
    for named in aspect.quality.named:
        candidates = named.suspect.candidates
        for place, (one, cause) in enumerate(zip(candidates, named.causes, strict=True)):
            shifts = {key: one.blunder * slope.covariance(one.fit) for key, slope in aspect.slopes.items()}
            yield Doubt(one, cause, shifts, place == 0, len(candidates) == 1)


def seatings(labels: Sequence[Label]) -> tuple[Label, ...]:
    """Return readings with both ends of a seating as one, without a side."""
    ends = dict.fromkeys(map(seating_of, labels))
    count = {one: sum(seating_of(label) == one for label in labels) for one in ends}
    alone = {seating_of(label): label for label in labels}
    return tuple(one if count[one] > 1 else alone[one] for one in ends)
