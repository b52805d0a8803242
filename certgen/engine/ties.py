"""Which setups the readings leave without a tie to the reference, said in the surveyor's words."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from certgen.engine import parallel
from certgen.engine.kept import kept
from certgen.engine.network import Network, solve
from certgen.engine.observation import Unknown
from certgen.errors import RankDefect
from certgen.findings import Finding, Place
from certgen.survey.survey import Setup, Survey
from certgen.survey.unread import moved_mm, not_moved, reference_was_moved


def untied(survey: Survey) -> tuple[Finding, ...]:
    """Return an error for every setup whose direction cannot be compared with the reference; () if none."""
    return tied_network(survey)[1]


def tied_network(survey: Survey) -> tuple[Network | None, tuple[Finding, ...]]:
    """Return the parallel network solved, or None with what `untied` finds; None without readings too."""
    rows = parallel.observations(kept(survey))
    if not rows:
        return None, ()
    try:
        return solve(rows), ()
    except RankDefect as defect:
        return None, tuple(_explain(kept(survey), defect))


def _explain(survey: Survey, defect: RankDefect) -> Iterator[Finding]:
    loose = _loose(survey, defect)
    apart: set[str] = set()
    if reference_was_moved(survey):
        apart = loose - _loose_all_the_same(replace(survey, adjustments=()))
        if apart:
            yield _apart(survey, apart)
    for index, setup in enumerate(survey.setups):
        if setup.id in loose - apart:
            yield _finding(survey, index, setup, loose)


def _loose(survey: Survey, defect: RankDefect) -> set[str]:
    free = {free for free in defect.free if isinstance(free, Unknown)}
    return {setup.id for setup in survey.setups if parallel.azimuth(setup.id) in free}


def _loose_all_the_same(survey: Survey) -> set[str]:
    """The setups that had no tie even if the reference had stayed where it was."""
    try:
        solve(parallel.observations(survey))
    except RankDefect as defect:
        return _loose(survey, defect)
    return set()


def _apart(survey: Survey, apart: set[str]) -> Finding:
    """The reference was moved, and what these setups saw before cannot be held against it as it was left."""
    reference = survey.reference.roll or ""
    where = next(
        f"adjustments[{index}].downstream"
        for index, made in enumerate(survey.adjustments)
        if made.roll == reference and moved_mm(made, "parallel") is not None
    )
    message = f"the reference, roll {reference}, was moved between the rounds, and nothing that stayed ties "
    message += f"setup {' and '.join(sorted(apart))} to it as it was left"
    return Finding("error", survey.places.get(where, Place(1, 1)), where, message, _tie(survey, apart))


def _tie(survey: Survey, apart: set[str]) -> str:
    """What would carry the direction of the reference as left to these setups."""
    reference = survey.reference.roll
    left = [s.id for s in survey.setups for r in s.readings if (r.roll, r.round) == (reference, "as_left")]
    if not left:
        return f"Read both ends of roll {reference} as left, or name a reference that was not moved."
    before = [setup for setup in survey.setups if setup.id in apart]
    stayed = not_moved(survey, "parallel")
    rolls = dict.fromkeys(r.roll for setup in before for r in setup.readings if r.roll in stayed)
    marks = list(dict.fromkeys(r.monument for setup in before for r in setup.monuments))
    ways = [f"one of the rolls that were not moved ({', '.join(rolls)})"] if rolls else []
    ways += [f"the monuments {' and '.join(marks[:2])}"] if len(marks) > 1 else []
    ways += ["name a reference that was not moved"]
    read = f"From setup {left[0]} also read, as left, " if len(ways) > 1 else ""
    hint = f"{read}{', or '.join(ways)}."
    return hint[0].upper() + hint[1:]


def _finding(survey: Survey, index: int, setup: Setup, loose: set[str]) -> Finding:
    where = f"setups[{index}]"
    rolls = ", ".join(dict.fromkeys(reading.roll for reading in setup.readings)) or "nothing"
    message = f"setup {setup.id} has no tie to the reference, so the slope of {rolls} cannot be told"
    place = survey.places.get(where, Place(1, 1))
    return Finding("error", place, where, message, _what_would_tie(survey, setup, loose))


def _what_would_tie(survey: Survey, setup: Setup, loose: set[str]) -> str:
    """Every reading that would carry the direction of the reference into this setup."""
    ways = [*_reference_ways(survey, setup), *_shared_ways(survey, setup, loose)]
    return f"In setup {setup.id} also read {', or '.join(ways)}."


def _reference_ways(survey: Survey, setup: Setup) -> Iterable[str]:
    if survey.reference.roll is not None:
        yield f"both ends of the reference roll {survey.reference.roll}"
    else:
        read = {reading.monument for reading in setup.monuments}
        missing = [name for name in survey.reference.monuments if name not in read]
        yield f"the monuments of the reference line ({', '.join(missing)})"


def _shared_ways(survey: Survey, setup: Setup, loose: set[str]) -> Iterable[str]:
    tied = [other for other in survey.setups if other.id not in loose]
    for other in tied:
        again = [reading.roll for reading in other.readings if reading.roll != survey.reference.roll]
        if again:
            yield f"roll {again[-1]} as it stood in setup {other.id}"
            break
    here = {reading.monument for reading in setup.monuments}
    for other in tied:
        there = list(dict.fromkeys(reading.monument for reading in other.monuments))
        missing = [name for name in there if name not in here]
        if len(there) > 1 and missing:
            yield f"{_needed(there, missing)} (monuments of setup {other.id})"


def _needed(there: list[str], missing: list[str]) -> str:
    """Two common monuments at different stations carry a direction; one that is shared already helps."""
    wanted = missing[:1] if len(missing) < len(there) else missing[:2]
    return " and ".join(wanted)
