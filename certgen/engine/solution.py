"""The solved survey: slopes of every roll with their covariance, level and parallel, and their proof."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from certgen.engine import level, parallel
from certgen.engine.estimate import Estimate, known
from certgen.engine.kept import kept
from certgen.engine.last import LastReadings, last_readings
from certgen.engine.network import Network, solve
from certgen.engine.observation import Observation, Unknown
from certgen.engine.quality import Quality, quality
from certgen.engine.shared import error_terms
from certgen.survey.edition import EDITION
from certgen.survey.survey import Round, Survey

Key = tuple[str, Round]


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
