"""The proof of a network as plain data; the names are a contract. Slopes in mm/m, lengths in mm."""

from collections.abc import Iterable

from certgen.assessment.doubt import Doubt
from certgen.network.causes import Cause
from certgen.network.equations import Label
from certgen.network.quality import Closure, Named, Quality
from certgen.network.suspects import Candidate

Json = dict[str, object]


def network(quality: Quality) -> Json:
    """Return the fit of a network, its suspects and closures, and the readings that nothing checks."""
    return {
        "observations": quality.observations,
        "unknowns": quality.unknowns,
        "dof": quality.dof,
        "chi_square": quality.chi_square,
        "p_value": quality.p_value,
        "critical_w": quality.critical_w,
        "times_as_stated": quality.too_large,
        "readings": quality.readings,
        "checked": quality.readings - len(quality.unchecked),
        "unchecked": [reading_of(label) for label in quality.unchecked],
        "suspects": [_suspect(one) for one in quality.named],
        "closures": [_closure(closure) for closure in quality.closures],
    }


def _suspect(named: Named) -> Json:
    suspect = named.suspect
    first = suspect.candidates[0] if suspect.candidates else None
    unit = unit_of(suspect.label) if first is None else unit_of_size(first)
    both = zip(suspect.candidates, named.causes, strict=True)
    return {
        **reading_of(suspect.label),
        "w": suspect.w,
        f"blunder_{unit}": suspect.blunder,
        f"smallest_detectable_{unit}": suspect.detectable,
        "cause": named.cause,
        "or": [reading_of(other) for other in suspect.others],
        "candidates": [_candidate(one, cause) for one, cause in both],
    }


def _candidate(one: Candidate, cause: Cause | None) -> Json:
    """One event that explains the contradiction; the first of `events` is the plainest."""
    unit = unit_of_size(one)
    return {
        "events": list(one.kinds),
        "readings": [reading_of(label) for label in one.readings],
        "between": None if one.between is None else list(one.between),
        "w": one.w,
        f"blunder_{unit}": one.blunder,
        f"u_{unit}": one.u,
        "likelihood": one.likelihood,
        "cause": cause,
    }


def unit_of_size(one: Candidate) -> str:
    """Return the unit of the size of an event: a setup turns by a slope, a reading is off in its own unit.

    So are statements: those that are tested (events.py) are all of slopes.
    """
    label = one.readings[0]
    return "mm_per_m" if one.kind == "setup moved" or label.source == "prior" else unit_of(label)


def unit_of(label: Label) -> str:
    """Return the unit of a reading: slopes of a level in mm/m, everything else in mm."""
    return "mm_per_m" if label.source == "level" else "mm"


def reading_of(label: Label) -> Json:
    """Return which reading it was: setup, roll or monument, side and round, and its path in the survey."""
    whose = {"roll": label.roll} if label.monument is None else {"monument": label.monument}
    return {
        "setup": label.setup,
        **whose,
        "side": label.side,
        "round": label.round,
        "where": label.where or None,
    }


def _closure(closure: Closure) -> Json:
    again, first = closure.label, closure.first
    whose = {"roll": again.roll} if again.monument is None else {"monument": again.monument}
    unit = "mm_per_m" if again.monument is None else "mm"
    return {
        **whose,
        "first": {"setup": first.setup, "round": first.round},
        "again": {"setup": again.setup, "round": again.round},
        f"{'slope' if again.monument is None else 'difference'}_{unit}": closure.difference,
        f"u_{unit}": closure.u,
        "checked": closure.checked,
    }


def doubtful(doubts: Iterable[Doubt]) -> list[Json]:
    """Return the readings of candidates that put a result in doubt, once each."""
    labels = dict.fromkeys(label for one in doubts for label in one.readings)
    return [reading_of(label) for label in labels]
