"""What may have happened to the readings of a suspect, where the numbers show it; by both editions.

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

Where a cause is named, so is that of every other candidate that keeps the first two bounds and is not less
likely by more than 1 to 20: the likelihood of an event of known size is that of the event times exp(-w²/2), w
of the corrected reading. Candidates that the numbers cannot tell apart stand in the order of that, those with
a cause first.

Only the reading that was named first is tried, and nothing is said of a coincidence; causes.py has the rule
in force.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp, pi, sqrt
from typing import Literal

import numpy as np

from certgen.network.equations import Unknown
from certgen.network.least_squares import Network
from certgen.network.reliability import CRITICAL_W, DETECTABLE, Residuals
from certgen.network.suspects import Candidate, Suspect

Cause = Literal["ends or sign", "sign", "unit", "decimal", "monument", "setup"]

_FITS = 2.0
_LARGE = 3.0
_LESS_LIKELY = 20.0  # a cause less likely than another by more than this is not named beside it
_FACTORS: tuple[tuple[Cause, float], ...] = (
    ("unit", 25.4),
    ("unit", 1.0 / 25.4),
    ("decimal", 10.0),
    ("decimal", 0.1),
    ("decimal", 100.0),
    ("decimal", 0.01),
)
_EVENTS: Mapping[str, Cause] = {"monument moved": "monument", "setup moved": "setup"}

_EQUAL_PLACES = 6  # likelihoods that agree to so many are equal, and stay in the order of the survey
_AGREES = 3.0


@dataclass(frozen=True, slots=True)
class _Correction:
    """A reading as it would have been without the cause, and the size of what was corrected."""

    cause: Cause
    read: float
    corrected: float
    size: float


@dataclass(frozen=True, slots=True)
class _Found:
    """The best cause of a candidate: its likelihood against the best event, 0 without, and if it is named."""

    cause: Cause | None = None
    likelihood: float = 0.0
    named: bool = False


def with_causes(network: Network, suspect: Suspect) -> tuple[Suspect, tuple[Cause | None, ...]]:
    """Return the likely cause of each candidate, None where the numbers do not show one.

    The suspect comes with them: of candidates that are tied with its first one, those with a cause are put
    before those without, and it stands for what is then the first.
    """
    tried = [list(_corrections(network, one)) for one in suspect.candidates]
    share = sum(map(len, tried))
    found = [_best(*pair, share) for pair in zip(suspect.candidates, tried, strict=True)]
    most = max((one.likelihood for one in found if one.named), default=0.0)
    named = [one if one.named or _as_good(one, most) else _Found() for one in found]
    pairs = list(zip(suspect.candidates, named, strict=True))
    places = [place for place, (one, _) in enumerate(pairs) if place == 0 or _is_tied(suspect, one)]
    order = iter(sorted(places, key=lambda place: -round(pairs[place][1].likelihood, _EQUAL_PLACES)))
    pairs = [pairs[next(order)] if place in places else pair for place, pair in enumerate(pairs)]
    each = tuple(_EVENTS.get(one.kind, found.cause) for one, found in pairs)
    return _headed(suspect, tuple(one for one, _ in pairs)), each


def _as_good(one: _Found, most: float) -> bool:
    return most > 0.0 and one.likelihood * _LESS_LIKELY >= most


def _is_tied(suspect: Suspect, one: Candidate) -> bool:
    return one.kind not in _EVENTS and one.readings[0] in suspect.others


def _headed(suspect: Suspect, candidates: Sequence[Candidate]) -> Suspect:
    """The suspect for the first of these candidates; of a seating, for its operator end."""
    first, before = candidates[0], suspect.candidates[0]
    if first is before:
        return replace(suspect, candidates=tuple(candidates))
    way = -1.0 if first.kind == "seating" else 1.0  # the size of a seating is drive less operator side
    label = first.readings[0]
    return Suspect(
        index=first.indices[0],
        label=label,
        w=way * first.w,
        blunder=way * first.blunder,
        detectable=DETECTABLE * first.u,
        others=tuple(one for one in (suspect.label, *suspect.others) if one != label),
        candidates=tuple(candidates),
    )


def common(found: tuple[Cause | None, ...]) -> Cause | None:
    """Return the cause that all candidates with one agree on; None where they name different ones."""
    named = {cause for cause in found if cause is not None}
    return next(iter(named)) if len(named) == 1 else None


def _best(one: Candidate, tried: list[_Correction], share: int) -> _Found:
    fitting = [
        (_density(one, correction), correction)
        for correction in tried
        if _fits(one, correction) and correction.size > _LARGE * one.u
    ]
    if not fitting:
        return _Found()
    density, correction = max(fitting, key=lambda pair: pair[0])
    likelihood = one.likelihood * exp(-(_w(one, correction) ** 2) / 2.0)
    return _Found(correction.cause, likelihood, density / share > 1.0 / (2.0 * abs(one.blunder)))


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


def cause_by_first_edition(network: Network, found: Residuals, suspect: Suspect) -> Cause | None:
    """Return the likely cause, or None where the numbers do not show one."""
    if suspect.label.source == "monument" and _monument_moved(network, suspect):
        return "monument"
    read, true, u = _read_and_true(network, found, suspect)
    near = _AGREES * u
    if abs(read) > near and abs(true + read) <= near:
        return "sign" if suspect.label.source in {"level", "monument"} else "ends or sign"
    matching = (
        name
        for name, factor in _FACTORS
        if min(abs(factor * read), abs(true)) > near and abs(true - factor * read) <= near
    )
    return next(matching, None)


def _read_and_true(network: Network, found: Residuals, suspect: Suspect) -> tuple[float, float, float]:
    """What was read, what the others make of it, and how sure: for a roll, the difference of its ends."""
    blunder, u = found.blunder(suspect.index)
    read = network.observations[suspect.index].value
    partner = _other_end(network, suspect)
    if partner is not None:
        read -= network.observations[partner].value
    return read, read - blunder, u


def _other_end(network: Network, suspect: Suspect) -> int | None:
    label = suspect.label
    if label.source not in {"roll", "height"}:
        return None
    other = label._replace(side="drive" if label.side == "operator" else "operator")
    found = (i for i, observation in enumerate(network.observations) if observation.label == other)
    return next(found, None)


def _monument_moved(network: Network, suspect: Suspect) -> bool:
    """Whether one shift of the monument between two setups explains more than any wrong reading of it.

    A shift with a single reading before or after it cannot be told from that reading being wrong.
    """
    readings = [
        i
        for i, observation in enumerate(network.observations)
        if observation.label.monument == suspect.label.monument
    ]
    shifts = [abs(_pattern_w(network, readings[cut:])) for cut in range(2, len(readings) - 1)]
    return max(shifts, default=0.0) > max(abs(suspect.w) + 0.5, CRITICAL_W)


def _pattern_w(network: Network, indices: Iterable[int]) -> float:
    """Return the standardised test of one and the same error in several readings; 0 where it cannot show.

    Source: the general form of the w-test, c' W v / sqrt(c' W Q_v W c) (Baarda 1968, from memory).
    """
    chosen = list(indices)
    weights = [1.0 / network.sigmas[i] ** 2 for i in chosen]
    terms: dict[Unknown, float] = {}
    for i, weight in zip(chosen, weights, strict=True):
        for unknown, coefficient in network.observations[i].terms.items():
            terms[unknown] = terms.get(unknown, 0.0) + weight * coefficient
    fit = network.estimate(terms)
    variance = sum(weights) - fit.covariance(fit)
    pull = sum(weight * network.residuals[i] for i, weight in zip(chosen, weights, strict=True))
    return float(pull / np.sqrt(variance)) if variance > 1e-9 * sum(weights) else 0.0
