"""How a setup turns while it is read: in the order of its readings, as far as its level checks tell.

The check of the laser's level before and after tells how far the head has tilted. It is taken to have turned
about the vertical by as much, which way is not known: by D at most from the first reading to the last, evenly
likely between -D and D. How it came to that is not known either. A steady turning and one step at any moment
count as equally likely, so that at the time tau, from 0 at the first moment to 1 at the last, the turn has
the covariance

    D²/3 [s t + (min(s, t) - s t)/2]                 s, t: two times

the first term being the steady turning, an unknown of the setup that all its readings share in proportion to
their time, and the second the departure from it, which counts as an error of each moment by itself (so the
difference of two moments is never taken for more certain than it is). Sources: a rectangle of half width D,
JCGM 100:2008, 4.3.7; second moments of a line, and of one step at an evenly distributed time (own
derivation, docs/uncertainty.md).

The moments of a setup: its monuments, as far as they were read first, are one; then every reading of a roll
is one, as found before as left and else in the order of the file; the monuments read last are one.
A head that turns where it stands shifts what is read of the monuments too, by the turn times its distance
from them; as it may stand anywhere along the line, that shift is an unknown of its own.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from certgen.engine.observation import Label, Observation, Unknown, roll_block, setup_block
from certgen.survey.survey import MonumentReading, Setup, Survey


@dataclass(frozen=True, slots=True)
class SetupDrift:
    """The turn of one setup over its readings; `rolls` and `monuments` hold the times, from 0 to 1.

    `variance` is D²/3 in (mm/m)², `shift_variance` that of the shift of its offset in mm².
    """

    setup: str
    variance: float
    shift_variance: float
    rolls: tuple[float, ...]
    monuments: tuple[float, ...]

    def of_roll(self, series: int, roll: str) -> Mapping[Unknown, float]:
        """Return the unknowns that make up the turn at a reading of a roll, each with its coefficient."""
        departure = Unknown("drift", roll, f"{self.setup}/{series}", roll_block(roll))
        return self._turn(self.rolls[series], departure)

    def of_monument(self, series: int) -> Mapping[Unknown, float]:
        """Return the unknowns that make up the turn at a reading of a monument."""
        time = self.monuments[series]
        return self._turn(time, self._departure(time))

    def shift_at(self, series: int) -> Mapping[Unknown, float]:
        """Return the unknowns that make up the shift of the offset at a reading of a monument."""
        time = self.monuments[series]
        return {self._shift: time} if time > 0.0 and self._closed else {}

    def priors(self, rolls: tuple[str, ...]) -> Iterator[Observation]:
        """Yield the priors of all these unknowns; `rolls` are those read, in the order of the readings."""
        used = {u for series in range(len(self.monuments)) for u in self.of_monument(series)}
        used |= {u for series, roll in enumerate(rolls) for u in self.of_roll(series, roll)}
        if self._rate in used:
            yield self._prior(self._rate, self.variance)
        for series, roll in enumerate(rolls):
            time = self.rolls[series]
            for unknown in self.of_roll(series, roll):
                if unknown != self._rate:
                    yield self._prior(unknown, self._bridge(time), roll)
        for time in dict.fromkeys(self.monuments):
            if self._departure(time) in used:
                yield self._prior(self._departure(time), self._bridge(time))
        if self._closed:
            yield self._prior(self._shift, self.shift_variance)

    @property
    def _closed(self) -> bool:
        """Whether monuments were read at another moment than the first."""
        return len(set(self.monuments)) > 1

    @property
    def _rate(self) -> Unknown:
        return Unknown("drift_rate", self.setup)

    @property
    def _shift(self) -> Unknown:
        return Unknown("drift_shift", self.setup, block=setup_block(self.setup))

    def _departure(self, time: float) -> Unknown:
        return Unknown("drift", self.setup, f"monuments at {time}", setup_block(self.setup))

    def _turn(self, time: float, departure: Unknown) -> Mapping[Unknown, float]:
        terms = {self._rate: time} if time > 0.0 else {}
        return {**terms, departure: 1.0} if 0.0 < time < 1.0 else terms

    def _bridge(self, time: float) -> float:
        return self.variance * time * (1.0 - time) / 2.0

    def _prior(self, unknown: Unknown, variance: float, roll: str | None = None) -> Observation:
        label = Label("prior", self.setup, roll, None, "drift")
        return Observation({unknown: 1.0}, 0.0, variance**0.5, label, {"drift": variance})


def setup_drift(survey: Survey, setup: Setup) -> SetupDrift | None:
    """Return how a setup may have turned; None where its level was not checked or did not change."""
    check = setup.level_check
    if check is None or check.after_mm_per_m == check.before_mm_per_m:
        return None
    variance = (check.after_mm_per_m - check.before_mm_per_m) ** 2 / 3.0
    rolls, monuments = _times(setup)
    reach_m = _length_m(survey) / 2.0
    return SetupDrift(setup.id, variance, variance * reach_m**2, rolls, monuments)


def _times(setup: Setup) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return the times of the readings of rolls and of monuments."""
    count = len(setup.readings)
    moments = {_of_monument(one) for one in setup.monuments}
    moments |= {(index + 0.5) / count for index in range(count)}
    order = {moment: place for place, moment in enumerate(sorted(moments))}
    last = max(len(order) - 1, 1)
    rolls = tuple(order[(index + 0.5) / count] / last for index in range(count))
    return rolls, tuple(order[_of_monument(one)] / last for one in setup.monuments)


def _of_monument(reading: MonumentReading) -> float:
    return reading.moment


def _length_m(survey: Survey) -> float:
    """The length of the line over which the head may stand: all rolls and monuments, in metres."""
    stations = [one.station_mm for one in survey.rolls] + [one.station_mm for one in survey.monuments]
    return (max(stations) - min(stations)) / 1000.0
