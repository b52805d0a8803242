"""Which rolls of several surveys are the same roll: by id, or by the id that a later survey says it had.

A roll with `was: X` is the one that the surveys before called X; a roll of id X in the same survey is then
another one. `was` may stay in the files of the years that follow: where a survey before has the roll under
its own id, and no roll X or one beside it that says `was: X` as well, it is that one.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, count

from certgen.survey.survey import Roll, Survey


@dataclass(frozen=True, slots=True)
class _Sought:
    """A roll of later surveys: the name it goes by over all, its id in the earliest of them, and `was`."""

    name: str
    id: str
    was: str | None

    def past(self, rolls: Mapping[str, Roll]) -> str | None:
        """Return the id it has in a survey before; None where that has not got it."""
        own = rolls.get(self.id)
        if self.was in rolls and (own is None or own.was != self.was):
            return self.was
        return None if own is None else self.id


def identities(surveys: Sequence[Survey]) -> tuple[Mapping[str, str], ...]:
    """Return for each survey, the earliest first, its roll ids with the names they go by over all.

    A roll goes by its last id; one that vanished, where that id has another owner later on, by the id with
    the day of the last survey that held it.
    """
    sought: list[_Sought] = []
    names: set[str] = set()
    found: list[Mapping[str, str]] = []
    for survey in reversed(surveys):
        known = _known(sought, {roll.id: roll for roll in survey.rolls})
        here = {}
        for roll in survey.rolls:
            one = known.get(roll.id)
            here[roll.id] = _new(roll.id, survey, names) if one is None else one.name
            names.add(here[roll.id])
        sought = [*_still(sought, known), *_next(survey, here, known)]
        found.append(here)
    return tuple(reversed(found))


def _known(sought: Sequence[_Sought], rolls: Mapping[str, Roll]) -> dict[str, _Sought]:
    """Return by id the rolls of a survey that later ones know; those that say what they were come first."""
    found: dict[str, _Sought] = {}
    for one in sorted(sought, key=lambda one: one.was is None):
        past = one.past(rolls)
        if past is not None:
            found.setdefault(past, one)
    return found


def _still(sought: Iterable[_Sought], known: Mapping[str, _Sought]) -> list[_Sought]:
    """The rolls to look for in the surveys before; not those whose id turned out to be another roll's."""
    met = {one.name for one in known.values()}
    return [one for one in sought if one.name not in met and one.id not in known]


def _next(survey: Survey, here: Mapping[str, str], known: Mapping[str, _Sought]) -> Iterable[_Sought]:
    """The rolls of a survey as its predecessors know them; what a later one said of a roll holds for them."""
    for roll in survey.rolls:
        later = known.get(roll.id)
        said = later.was if later is not None and later.was != roll.id else None
        yield _Sought(here[roll.id], roll.id, roll.was or said)


def _new(name: str, survey: Survey, names: set[str]) -> str:
    """Return a name that no roll goes by yet."""
    dated = f"{name} ({survey.visit.finished})"
    candidates = chain((name, dated), (f"{dated} {number}" for number in count(2)))
    return next(one for one in candidates if one not in names)
