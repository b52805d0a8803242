"""Warnings on readings that the others contradict: what it may be, and what would settle it."""

import re
from collections.abc import Iterator, Mapping

from certgen.assessment.assessment import ASPECTS
from certgen.assessment.network_results import unit_of_size
from certgen.engine.causes import Cause
from certgen.engine.events import seating_of
from certgen.engine.observation import Label
from certgen.engine.quality import Named
from certgen.engine.solution import Solution
from certgen.engine.suspects import Candidate
from certgen.findings import Finding, Place

_CAUSES: Mapping[Cause, str] = {
    "ends or sign": "swapped ends or a lost sign",
    "sign": "a lost sign",
    "unit": "a slipped unit (inch and millimetre)",
    "decimal": "a slipped decimal",
}
# the end of the path of a reading that is one of a list
_LISTED = re.compile(r"\[(\d+)\]$")
_UNITS = {"mm": "mm", "mm_per_m": "mm/m"}


def contradictions(solution: Solution) -> Iterator[Finding]:
    """Yield a warning for every suspect, at the place of the reading that has a cause, or the most likely."""
    for name in ASPECTS:
        aspect = solution.aspect(name)
        for named in () if aspect is None else aspect.quality.named:
            if named.suspect.candidates:
                yield _finding(solution, named)


def _finding(solution: Solution, named: Named) -> Finding:
    first, *rest = named.suspect.candidates
    caused = [pair for pair in _explained(named) if pair[1] is not None]
    where = (caused[0][0] if caused else first).readings[0].where or "uncertainty"
    size = f"{abs(first.blunder):.3g} {_UNITS[unit_of_size(first)]}"
    message = f"{event_text(first)} contradicts the other readings by {size} (w = {first.w:.1f})"
    if rest:
        message += f"; it may as well be {' or '.join(map(event_text, rest))}"
    looks = "; ".join(f"{event_text(one)}: {cause} would explain it" for one, cause in caused)
    hint = "Correct what was written down wrongly, or read it again; what is wrong for good, `exclude`."
    hint = f"{looks}. {hint}" if looks else hint
    place = solution.survey.places.get(where, Place(1, 1))
    return Finding("warning", place, where, message, hint)


def _explained(named: Named) -> Iterator[tuple[Candidate, str | None]]:
    """Every candidate with its cause in words, those that moved without: what happened is what they are."""
    for one, cause in zip(named.suspect.candidates, named.causes, strict=True):
        yield one, None if cause is None else _CAUSES.get(cause)


def event_text(one: Candidate) -> str:
    """Return what may have happened: a reading by its place, a monument or a setup that moved."""
    label = seating_of(one.readings[0]) if one.kind == "seating" else one.readings[0]
    if one.kind == "setup moved":
        return f"setup {label.setup} (turned between its rounds)"
    if one.kind == "monument moved":
        return f"monument {label.monument} (moved {_between(one)})"
    moved = f" (or moved {_between(one)})" if "monument moved" in one.kinds else ""
    return f"{_reading(label)}{moved}"


def _between(one: Candidate) -> str:
    before, after = one.between or (None, None)
    if before is None:
        return f"before setup {after}"
    return f"during setup {after}" if before == after else f"between setups {before} and {after}"


def _reading(label: Label) -> str:
    if label.source == "prior":
        return f"the stated {str(label.side).replace('_', ' ')}"
    what = label.roll or f"monument {label.monument}"
    which = () if label.round is None else (label.round.replace("_", " "),)
    side = () if label.side is None or label.source in {"roll", "height"} else (label.side,)
    setup = f" in setup {label.setup}" if label.setup is not None else ""
    again = _LISTED.search(label.where)
    number = "" if again is None else f" (reading {int(again[1]) + 1})"
    return f"{' '.join((what, *side, *which))}{number}{setup}"
