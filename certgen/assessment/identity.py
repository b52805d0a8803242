"""Which rolls of several surveys are the same roll: by id, or by the id that a later survey says it had.

A roll with `was: X` is the one that the surveys before called X. A roll of that id in the same survey is then
another one and has no past under it.
"""

from collections.abc import Mapping, Sequence
from itertools import chain, count

from certgen.survey.survey import Survey


def identities(surveys: Sequence[Survey]) -> tuple[Mapping[str, str], ...]:
    """Return for each survey, the earliest first, its roll ids with the names they go by over all.

    A roll goes by its last id; one that vanished, where that id has another owner later on, by the id with
    the day of the last survey that held it.
    """
    known: dict[str, str] = {}
    names: set[str] = set()
    found: list[Mapping[str, str]] = []
    for survey in reversed(surveys):
        here = {}
        for roll in survey.rolls:
            here[roll.id] = known[roll.id] if roll.id in known else _new(roll.id, survey, names)
            names.add(here[roll.id])
        known = {id_: name for id_, name in known.items() if id_ not in here} | _past(survey, here)
        found.append(here)
    return tuple(reversed(found))


def _new(name: str, survey: Survey, names: set[str]) -> str:
    """Return a name that no roll goes by yet."""
    dated = f"{name} ({survey.visit.finished})"
    candidates = chain((name, dated), (f"{dated} {number}" for number in count(2)))
    return next(one for one in candidates if one not in names)


def _past(survey: Survey, here: Mapping[str, str]) -> dict[str, str]:
    """Return what the surveys before called each roll, with the name it goes by."""
    claimed = {roll.was for roll in survey.rolls if roll.was is not None}
    return {
        roll.was or roll.id: here[roll.id]
        for roll in survey.rolls
        if roll.was is not None or roll.id not in claimed
    }
