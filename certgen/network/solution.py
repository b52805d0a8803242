"""The solved survey: slopes of every roll with their covariance, or all that stands against solving it.

Setups without a tie and rolls where none can be are said in the surveyor's words.

Readings of several rolls in one setup are held against each other before anything is solved. What that
cannot see is a setup of one roll, which only monuments or another setup tie to the reference.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

from certgen.errors import RankDefect, SurveyRefused
from certgen.findings import Finding, Place, has_errors
from certgen.network import level, parallel
from certgen.network.equations import Observation, Unknown
from certgen.network.least_squares import Estimate, Network, known, solve
from certgen.network.quality import Quality, quality
from certgen.network.shared_errors import error_terms
from certgen.survey import Reading, accept
from certgen.survey.edition import EDITION
from certgen.survey.fields import STEEPEST_READING_MM_PER_M
from certgen.survey.number_text import short
from certgen.survey.survey import (
    HeightReading,
    MonumentReading,
    RollReading,
    Round,
    Setup,
    SlopeReading,
    Survey,
)
from certgen.survey.unread import moved_mm, not_moved, reference_was_moved

AnyReading = RollReading | MonumentReading | SlopeReading | HeightReading
Key = tuple[str, Round]
_HINT = "Check the readings of rolls and monuments there and their units: has a unit slipped?"


@dataclass(frozen=True, slots=True)
class SetAside:
    """A reading that takes no part, with the setup it belongs to (None: level) and the reason."""

    setup: str | None
    reading: AnyReading
    reason: str


def kept(survey: Survey) -> Survey:
    """Return the survey without the readings that are set aside."""
    setups = tuple(
        replace(
            setup,
            monuments=tuple(r for r in setup.monuments if r.exclude is None),
            readings=tuple(r for r in setup.readings if r.exclude is None),
        )
        for setup in survey.setups
    )
    if survey.level is None:
        kept_level = None
    else:
        slopes = tuple(r for r in survey.level.slopes if r.exclude is None)
        kept_level = replace(
            survey.level, slopes=slopes, heights=tuple(r for r in survey.level.heights if r.exclude is None)
        )
    return replace(survey, setups=setups, level=kept_level)


def set_aside(survey: Survey) -> tuple[SetAside, ...]:
    """Return the readings that are set aside, in the order of the survey."""
    every: list[tuple[str | None, AnyReading]] = []
    if survey.level is not None:
        every += [(None, slope) for slope in survey.level.slopes]
        every += [(None, height) for height in survey.level.heights]
    for setup in survey.setups:
        every += [(setup.id, monument) for monument in setup.monuments]
        every += [(setup.id, roll) for roll in setup.readings]
    return tuple(SetAside(setup, r, r.exclude) for setup, r in every if r.exclude is not None)


@dataclass(frozen=True, slots=True)
class LastReadings:
    """By roll and round: the setup, the level reading and the pair of heights that came last."""

    setups: Mapping[Key, Setup]
    slopes: Mapping[Key, SlopeReading]
    heights: Mapping[Key, HeightReading]


def last_readings(survey: Survey) -> LastReadings:
    """Return the last readings of every roll; what was never read is absent."""
    level = survey.level
    return LastReadings(
        setups={(reading.roll, reading.round): s for s in survey.setups for reading in s.readings},
        slopes={(r.roll, r.round): r for r in level.slopes} if level else {},
        heights={(r.roll, r.round): r for r in level.heights} if level else {},
    )


@dataclass(frozen=True)
class Aspect:
    """Level or parallel of the whole line: a slope (mm/m) for each roll and round that was read.

    `judged` are the same slopes as they are judged: uncertain by what is not known of their targets as well.
    """

    network: Network
    slopes: Mapping[Key, Estimate]
    judged: Mapping[Key, Estimate]
    edition: int = EDITION

    @cached_property
    def quality(self) -> Quality:
        """The proof of the network, worked out when it is first asked for."""
        return quality(self.network, self.edition)


@dataclass(frozen=True)
class Solution:
    """Both aspects of a survey; None for one that was not surveyed."""

    survey: Survey
    parallel: Aspect | None
    level: Aspect | None

    def aspect(self, name: Literal["level", "parallel"]) -> Aspect | None:
        """Return the aspect of that name, None where it was not surveyed."""
        return self.level if name == "level" else self.parallel

    @cached_property
    def azimuths(self) -> Mapping[str, Estimate]:
        """The direction of each setup's cross plane against the reference, mm/m, where it has readings."""
        if self.parallel is None:
            return {}
        network = self.parallel.network
        read = {u.of: u for u in network.values if u.kind == "azimuth"}
        return dict(zip(read, network.estimates([{unknown: 1.0} for unknown in read.values()]), strict=True))

    @cached_property
    def last(self) -> LastReadings:
        """Where each roll was read last, by a reading that takes part."""
        return last_readings(kept(self.survey))

    def azimuth(self, setup: str) -> Estimate:
        """Return the direction of a setup's cross plane against the reference, mm/m."""
        return self.azimuths[setup]


def solve_survey(survey: Survey) -> Solution:
    """Solve both networks.

    Readings that the survey sets aside take no part. Raises RankDefect where a roll is not tied to the
    reference and CannotCompute where the stated uncertainties add up to zero.
    """
    used = kept(survey)
    return Solution(
        survey=survey,
        parallel=_aspect(used, "parallel", parallel.observations(used), parallel.measured),
        level=_aspect(used, "level", level.observations(used), level.measured),
    )


def _aspect(
    survey: Survey,
    name: Literal["level", "parallel"],
    rows: list[Observation],
    measured: Callable[[Survey], Mapping[Key, Unknown | None]],
) -> Aspect | None:
    if not rows:
        return None
    network = solve(rows)
    found = {key: {} if unknown is None else {unknown: 1.0} for key, unknown in measured(survey).items()}
    slopes = _estimates(network, found)
    beside = {roll.id: error_terms(survey, name, roll) for roll in survey.rolls}
    if not any(beside.values()):
        return Aspect(network, slopes, slopes, survey.edition)
    judged = {key: {**terms, **beside[key[0]]} for key, terms in found.items()}
    return Aspect(network, slopes, _estimates(network, judged), survey.edition)


def _estimates(network: Network, functions: Mapping[Key, Mapping[Unknown, float]]) -> dict[Key, Estimate]:
    """The reference is zero by definition (no terms); the others come from the network."""
    zero = known(0.0, len(network.shared.columns))
    free = {key: terms for key, terms in functions.items() if terms}
    found = dict(zip(free, network.estimates(list(free.values())), strict=True))
    return {key: found.get(key, zero) for key in functions}


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
    # every reading that would carry the direction of the reference into this setup
    ways = [*_reference_ways(survey, setup), *_shared_ways(survey, setup, loose)]
    what_would_tie = f"In setup {setup.id} also read {', or '.join(ways)}."
    return Finding("error", place, where, message, what_would_tie)


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


def steep(survey: Survey, network: Network) -> tuple[Finding, ...]:
    """Return an error for every setup that puts a roll over 100 mm/m from the reference."""
    slopes = {
        key: network.values[unknown]
        for key, unknown in parallel.measured(kept(survey)).items()
        if unknown is not None
    }
    return tuple(
        finding
        for index, setup in enumerate(kept(survey).setups)
        for finding in _worst(survey, f"setups[{index}]", setup, slopes)
    )


def _worst(
    survey: Survey, where: str, setup: Setup, slopes: dict[tuple[str, Round], float]
) -> Iterator[Finding]:
    read = [(reading.roll, reading.round) for reading in setup.readings]
    found = [(abs(slopes[key]), key[0]) for key in read if key in slopes]
    slope, roll = max(found, default=(0.0, ""))
    if slope > STEEPEST_READING_MM_PER_M:
        put = f"setup {setup.id} puts roll {roll} {short(slope)} mm/m from the reference"
        message = f"{put}, over {STEEPEST_READING_MM_PER_M:g} mm/m"
        yield Finding("error", survey.places.get(where, Place(1, 1)), where, message, _HINT)


def solve_reading(name: str, reading: Reading) -> Solution:
    """Return the solution of a reading without errors, under its `name` in messages.

    Raises SurveyRefused with every fault, those that only the network shows included, and else as
    `solve_survey`. They are looked for by themselves only where something is wrong: that solves it again.
    """
    try:
        solution = solve_survey(accept(name, reading))
    except (SurveyRefused, RankDefect):
        accept(name, reading, network_faults(reading))
        raise
    if solution.parallel is not None:
        accept(name, reading, steep(solution.survey, solution.parallel.network))
    return solution


def network_faults(reading: Reading) -> tuple[Finding, ...]:
    """Return the faults that only the parallel network shows: setups without a tie, rolls no line can have.

    None where the file was too faulty to look for them. Slopes are judged where nothing else is wrong: a
    faulty value is stood in for, and a reading refused already would be named twice.
    """
    if reading.survey is None:
        return ()
    network, faults = tied_network(reading.survey)
    if network is None or has_errors(reading.findings):
        return faults
    return steep(reading.survey, network)
