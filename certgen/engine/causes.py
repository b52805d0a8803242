"""What may have happened to the readings of a suspect, where the numbers show it.

Tried on every candidate (suspects.py): what was read is corrected as the cause would have it - the ends
swapped, a sign turned, a slipped unit or decimal - and must agree with what the others make of it. That a
monument or a setup moved is an event of its own. Common practice, no source.

Three bounds keep a cause from being made up:

- the corrected reading fits, |w| < 2;
- what is corrected is larger than three times the standard uncertainty with which the others foretell it;
- it explains more than a coincidence would. A blunder without a cause may be of any size up to the one found,
  either way: its density is 1 / (2 |b|). That of a cause is normal, u about its correction. A cause is named
  where its density, shared among all corrections tried, is larger: the ratio of the likelihoods of two
  hypotheses, each correction with the same share of the prior (Bayes' rule; JCGM 106:2012, 6.3, for the
  use of such knowledge beside a measurement).
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import exp, pi, sqrt
from typing import Literal

from certgen.engine.network import Network
from certgen.engine.suspects import Candidate, Suspect

Cause = Literal["ends or sign", "sign", "unit", "decimal", "monument", "setup"]

_FITS = 2.0
_LARGE = 3.0
_FACTORS: tuple[tuple[Cause, float], ...] = (
    ("unit", 25.4),
    ("unit", 1.0 / 25.4),
    ("decimal", 10.0),
    ("decimal", 0.1),
    ("decimal", 100.0),
    ("decimal", 0.01),
)
_EVENTS: Mapping[str, Cause] = {"monument moved": "monument", "setup moved": "setup"}


@dataclass(frozen=True, slots=True)
class _Correction:
    """A reading as it would have been without the cause, and the size of what was corrected."""

    cause: Cause
    read: float
    corrected: float
    size: float


def causes(network: Network, suspect: Suspect) -> tuple[Cause | None, ...]:
    """Return the likely cause of each candidate, None where the numbers do not show one."""
    tried = [list(_corrections(network, one)) for one in suspect.candidates]
    share = max(sum(map(len, tried)), 1)
    return tuple(_cause(*pair, share) for pair in zip(suspect.candidates, tried, strict=True))


def common(found: tuple[Cause | None, ...]) -> Cause | None:
    """Return the cause that all candidates with one agree on; None where they name different ones."""
    named = {cause for cause in found if cause is not None}
    return next(iter(named)) if len(named) == 1 else None


def _cause(one: Candidate, tried: list[_Correction], share: int) -> Cause | None:
    if one.kind in _EVENTS:
        return _EVENTS[one.kind]
    named = [
        (_density(one, correction), correction.cause)
        for correction in tried
        if _fits(one, correction) and correction.size > _LARGE * one.u
    ]
    density, cause = max(named, default=(0.0, None), key=lambda pair: pair[0])
    return cause if density / share > 1.0 / (2.0 * abs(one.blunder)) else None


def _w(one: Candidate, correction: _Correction) -> float:
    """What is left of the blunder, over its standard uncertainty."""
    return (one.blunder + correction.corrected - correction.read) / one.u


def _fits(one: Candidate, correction: _Correction) -> bool:
    return abs(_w(one, correction)) < _FITS


def _density(one: Candidate, correction: _Correction) -> float:
    return exp(-(_w(one, correction) ** 2) / 2.0) / (sqrt(2.0 * pi) * one.u)


def _corrections(network: Network, one: Candidate) -> Iterator[_Correction]:
    """Every correction of a candidate once: those that come to the same are named after the first."""
    if one.kind in _EVENTS or one.readings[0].source == "prior":
        return
    values = [network.observations[i].value + network.observations[i].known for i in one.indices]
    whole = _of_seating(*values) if len(values) > 1 else _of_reading(*values)
    seen: set[float] = set()
    for correction in whole:
        if correction.corrected != correction.read and correction.corrected not in seen:
            seen.add(correction.corrected)
            yield correction


def _of_reading(read: float) -> Iterator[_Correction]:
    yield _Correction("sign", read, -read, abs(read))
    for cause, factor in _FACTORS:
        yield _Correction(cause, read, factor * read, min(abs(read), abs(factor * read)))


def _of_seating(operator: float, drive: float) -> Iterator[_Correction]:
    """Drive side less operator side: both ends corrected, or one of them."""
    read = drive - operator
    yield _Correction("ends or sign", read, -read, abs(read))
    yield _Correction("sign", read, -drive - operator, abs(drive))
    yield _Correction("sign", read, drive + operator, abs(operator))
    for cause, factor in _FACTORS:
        slipped = min(abs(factor), 1.0)
        yield _Correction(cause, read, factor * read, slipped * abs(read))
        yield _Correction(cause, read, factor * drive - operator, slipped * abs(drive))
        yield _Correction(cause, read, drive - factor * operator, slipped * abs(operator))
