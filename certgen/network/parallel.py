"""Parallel: one network over all setups and both rounds, its datum, and setups that turn while read.

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

A setup s has an unknown azimuth a_s and offset d_s. Its laser sweeps a cross plane x = c + a_s y and, square
to it, a machine-direction plane y = d_s - a_s x + e x, with e the squareness error of that laser (its sign
turns in a reversed setup). With y and x in metres, slopes in mm/m and readings in mm:

    roll at y:      m = c + (p - a_s) y             its own c for every seating series
    monument at x:  g = Y - d_s + a_s x - (±e) x    Y fixed all through

A setup whose level was found changed has turned while it was read (setup_drift.py): a_s and d_s change with
the time of the reading. Errors that readings share beyond that stand in shared.py.
p > 0 where the drive end lies downstream. p of a reference roll is zero; of one that was moved between the
rounds, as left, so that as found it has a slope as any other roll and the change of every roll is taken over
what ties the rounds together. Source: the plane geometry itself, linearised for small angles;
held against exact rotated planes in tests/reference.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from certgen.errors import RankDefect
from certgen.network.equations import (
    Label,
    Observation,
    Unknown,
    drift_parts,
    ends_of,
    monument_parts,
    roll_block,
    roll_parts,
    roll_slope,
    setup_block,
    sigma,
    squareness_parts,
)
from certgen.network.least_squares import solve
from certgen.network.shared_errors import with_shared
from certgen.survey.edition import FIRST
from certgen.survey.survey import MonumentReading, Roll, RollReading, Round, Setup, Survey
from certgen.survey.unread import not_moved, reference_was_moved


def fixed_monuments(setups: tuple[Setup, ...], line: tuple[str, ...]) -> frozenset[str]:
    """Return the monuments held at zero: those of the offset line `line`, and the first of every other group.

    Monuments belong to one group where setups that read them share monuments with each other.
    """
    fixed = set(line)
    for group in _groups(setups):
        if not group & fixed:
            first_read = next(r.monument for setup in setups for r in setup.monuments if r.monument in group)
            fixed.add(first_read)
    return frozenset(fixed)


def _groups(setups: tuple[Setup, ...]) -> list[set[str]]:
    groups: list[set[str]] = []
    for setup in setups:
        merged = {reading.monument for reading in setup.monuments}
        apart = [group for group in groups if not group & merged]
        merged.update(*(group for group in groups if group & merged))
        groups = [*apart, merged] if merged else apart
    return groups


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
    # the length of the line over which the head may stand: all rolls and monuments, in metres
    stations = [one.station_mm for one in survey.rolls] + [one.station_mm for one in survey.monuments]
    length_m = (max(stations) - min(stations)) / 1000.0
    reach_m = length_m / 2.0
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


def squareness(instrument: str) -> Unknown:
    """Return the unknown squareness error of a laser, mm/m."""
    return Unknown("squareness", instrument)


def azimuth(setup: str) -> Unknown:
    """Return the unknown direction of a setup's cross plane, mm/m."""
    return Unknown("azimuth", setup)


def observations(survey: Survey) -> list[Observation]:
    """Return every reading of the parallel survey as an equation, and the priors of what they share."""
    return _rows(_model(survey, _zero(survey)))


def measured(survey: Survey) -> Mapping[tuple[str, Round], Unknown | None]:
    """Return, for every roll and round with readings, the unknown of its slope; None where it is the zero."""
    rolls = {roll.id: roll for roll in survey.rolls}
    pairs = dict.fromkeys(
        (reading.roll, reading.round) for setup in survey.setups for reading in setup.readings
    )
    zero = _zero(survey)
    return {(name, in_round): zero.slope(rolls[name], in_round) for name, in_round in pairs}


@dataclass(frozen=True, slots=True)
class _Zero:
    """What slopes are held against: the roll that is zero, in both rounds or, where it `moved`, as left."""

    roll: str | None
    moved: bool
    tying: frozenset[str]

    def slope(self, roll: Roll, in_round: Round) -> Unknown | None:
        """Return the unknown slope of a roll in a round; None where it is the zero."""
        if roll.id == self.roll and not (self.moved and in_round == "as_found"):
            return None
        return roll_slope(roll, in_round, stayed=roll.id in self.tying)


def _zero(survey: Survey) -> _Zero:
    """The zero; where it was moved, rolls that were not tie the rounds only if nothing firmer does.

    Firmer are a setup that holds both rounds, monuments, and rolls that cannot be adjusted: they need no
    word of anybody that nothing was moved.
    """
    moved = reference_was_moved(survey)
    firm = _Zero(survey.reference.roll, moved, frozenset())
    if not moved:
        return firm
    try:
        solve(_rows(_model(survey, firm)))
    except RankDefect:
        return replace(firm, tying=not_moved(survey, "parallel"))
    return firm


def carries_squareness(survey: Survey) -> bool:
    """Return whether the squareness error stays in the result: else it cancels and is left out.

    It enters with a monument line as reference, with a reversed setup, or where setups were taken with
    several lasers, whose errors differ; stated as zero, it is known.
    """
    stated = survey.uncertainty.squareness_mm_per_m
    turned = any(setup.reversed for setup in survey.setups)
    enters = survey.reference.roll is None or turned or len(_lasers(survey)) > 1
    return enters and stated is not None and stated.value > 0.0


@dataclass(frozen=True, slots=True)
class _Model:
    """What every equation needs; stations in metres from their middle (nearly uncorrelated offsets)."""

    survey: Survey
    rolls: Mapping[str, Roll]
    stations_m: Mapping[str, float]
    fixed: frozenset[str]
    squareness: bool
    drifts: Mapping[str, SetupDrift]
    zero: _Zero


def _rows(model: _Model) -> list[Observation]:
    rows = [row for setup in model.survey.setups for row in _setup_rows(model, setup)]
    return with_shared(
        model.survey, "parallel", [*rows, *_priors(model.survey)] if model.squareness else rows
    )


def _model(survey: Survey, zero: _Zero) -> _Model:
    stations = {monument.id: monument.station_mm / 1000.0 for monument in survey.monuments}
    middle = sum(stations.values()) / max(len(stations), 1)
    return _Model(
        survey=survey,
        rolls={roll.id: roll for roll in survey.rolls},
        stations_m={name: station - middle for name, station in stations.items()},
        fixed=fixed_monuments(survey.setups, survey.reference.monuments),
        squareness=carries_squareness(survey),
        drifts=_drifts(survey) if survey.edition > FIRST else {},
        zero=zero,
    )


def _drifts(survey: Survey) -> Mapping[str, SetupDrift]:
    found = {setup.id: setup_drift(survey, setup) for setup in survey.setups}
    return {name: drift for name, drift in found.items() if drift is not None}


def _lasers(survey: Survey) -> tuple[str, ...]:
    return tuple(dict.fromkeys(setup.instrument for setup in survey.setups))


def _priors(survey: Survey) -> Iterator[Observation]:
    parts = squareness_parts(survey.uncertainty)
    for laser in _lasers(survey):
        yield Observation(
            {squareness(laser): 1.0}, 0.0, sigma(parts), Label("prior", side="squareness"), parts
        )


def _setup_rows(model: _Model, setup: Setup) -> Iterator[Observation]:
    for series, reading in enumerate(setup.readings):
        yield from _roll_rows(model, setup, reading, series)
    for series, taken in enumerate(setup.monuments):
        # one monument: g = Y - d + a x - (±e) x
        x, parts = model.stations_m[taken.monument], monument_parts(model.survey.uncertainty)
        # the offset of a setup's machine-direction plane; only its own monument readings know it
        offset = Unknown("offset", setup.id, block=setup_block(setup.id))
        terms = {azimuth(setup.id): x, offset: -1.0}
        if (drift := model.drifts.get(setup.id)) is not None:
            terms |= {u: x * c for u, c in drift.of_monument(series).items()}
            terms |= {u: -c for u, c in drift.shift_at(series).items()}
        if taken.monument not in model.fixed:
            terms[Unknown("monument", taken.monument)] = 1.0
        if model.squareness:
            terms[squareness(setup.instrument)] = x if setup.reversed else -x
        label = Label("monument", setup.id, None, taken.monument, None, None, series, taken.where)
        monument_row = Observation(terms, taken.value_mm, sigma(parts), label, parts)
        yield monument_row
    if setup.id in model.drifts:
        yield from model.drifts[setup.id].priors(tuple(reading.roll for reading in setup.readings))


def _roll_rows(model: _Model, setup: Setup, reading: RollReading, series: int) -> Iterator[Observation]:
    """Both ends of one seating series: m = c + (p - a) y, with the drift of a setup that was checked."""
    roll, place = model.rolls[reading.roll], f"{setup.id}/{series}"
    height = Unknown("height", roll.id, place, block=roll_block(roll.id))
    known = model.drifts.get(setup.id)
    drift = _drift(model.survey, setup, roll, place)
    turned = drift.terms if known is None else known.of_roll(series, roll.id)
    for side, value, y_mm, repeats in ends_of(reading):
        y, parts = y_mm / 1000.0, roll_parts(model.survey.uncertainty, repeats)
        terms = {height: 1.0, azimuth(setup.id): -y} | {u: -y * c for u, c in turned.items()}
        slope = model.zero.slope(roll, reading.round)
        if slope is not None:
            terms[slope] = y
        label = Label("roll", setup.id, roll.id, None, side, reading.round, series, reading.where)
        yield Observation(terms, value, sigma(parts), label, parts, y)
    if drift.terms:
        yield drift


def _drift(survey: Survey, setup: Setup, roll: Roll, place: str) -> Observation:
    """What the setup may have turned by at this reading by the first edition of the rules: each by itself.

    Without terms where nothing turned.
    """
    check = setup.level_check if survey.edition == FIRST else None
    parts = drift_parts(check) if check is not None else {}
    label = Label("prior", setup.id, roll.id, None, "drift")
    if not any(parts.values()):
        return Observation({}, 0.0, 1.0, label)
    unknown = Unknown("drift", roll.id, place, block=roll_block(roll.id))
    return Observation({unknown: 1.0}, 0.0, sigma(parts), label, parts)
