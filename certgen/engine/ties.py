"""Which setups the readings leave without a tie to the reference, said in the surveyor's words."""

from collections.abc import Iterable

from certgen.engine import parallel
from certgen.engine.kept import kept
from certgen.engine.network import Network, solve
from certgen.engine.observation import Unknown
from certgen.errors import RankDefect
from certgen.findings import Finding, Place
from certgen.survey.survey import Setup, Survey


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
        free = {free for free in defect.free if isinstance(free, Unknown)}
        return None, _explain(kept(survey), free)


def _explain(survey: Survey, free: set[Unknown]) -> tuple[Finding, ...]:
    loose = {setup.id for setup in survey.setups if parallel.azimuth(setup.id) in free}
    return tuple(
        _finding(survey, index, setup, loose)
        for index, setup in enumerate(survey.setups)
        if setup.id in loose
    )


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
