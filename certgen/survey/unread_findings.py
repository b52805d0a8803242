"""Warnings of what a survey will leave not measured: where, in which aspect, and what would be right."""

from collections.abc import Iterator

from certgen.findings import Finding, Place
from certgen.survey.edition import FIRST
from certgen.survey.survey import ROUNDS, Roll, Round, Survey
from certgen.survey.unread import ASPECTS, AspectName, Reason, Unread, limit_of, moved_mm, readings

_CLAUSE = "ISO/IEC 17025:2017, 7.8.4.1 d)"  # results before and after any adjustment, if available
_SECTION = {"level": "level", "parallel": "setups"}


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
