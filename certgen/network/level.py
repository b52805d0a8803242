"""Level: one network over all rolls, with the zero error of the level, taper and sag.

A level reading at face position y (from the operator-side bearing centre; y_c the middle of the bearings)
is, in mm/m and with y in metres,

    s = q + 1000 taper / (2 face) + k (y - y_c) ± z

with q the slope of the roll's axis (positive: drive side high), taper the drive-side diameter minus the
operator-side diameter over the face, k the sag of the roll, and z the zero error of the level, whose sign
turns in a reversed reading. So a reversed pair A, B gives slope (A + B)/2 and zero error (A - B)/2.
Heights of both ends over one level plane are h = c + (q + taper term + t) y + k (y - y_c)²/2, with t the tilt
of that plane, one for each round (shared.py).
Source: reversal, JCGM 100:2008 has no worked case; the rule is the textbook one for a spirit level.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from certgen.network.equations import (
    Label,
    Observation,
    Unknown,
    ends_of,
    level_parts,
    roll_block,
    roll_parts,
    roll_slope,
    sigma,
    zero_parts,
)
from certgen.network.shared_errors import with_shared
from certgen.survey.survey import HeightReading, LevelReadings, Roll, Round, SlopeReading, Survey


def zero_error(instrument: str) -> Unknown:
    """Return the unknown zero error of a level, mm/m."""
    return Unknown("zero", instrument)


def observations(survey: Survey) -> list[Observation]:
    """Return every level reading as an equation, and the prior of the zero error if no reversal found it."""
    if survey.level is None:
        return []
    # rolls that were read at two or more places in one condition: only there can sag be told from slope
    places: dict[Unknown, set[float]] = {}
    by_id = {roll.id: roll for roll in survey.rolls}
    for reading in survey.level.slopes:
        places.setdefault(roll_slope(by_id[reading.roll], reading.round), set()).add(reading.at_mm)
    read_at_several_places = frozenset(unknown.of for unknown, at in places.items() if len(at) > 1)
    model = _Model(
        survey=survey,
        rolls={roll.id: roll for roll in survey.rolls},
        zero=zero_error(survey.level.instrument),
        sagging=read_at_several_places,
    )
    rows = [_slope_row(model, reading) for reading in survey.level.slopes]
    for series, pair in enumerate(survey.level.heights):
        rows.extend(_height_rows(model, pair, series))
    if survey.level.slopes and not zero_was_found(survey.level):
        parts = zero_parts(survey.uncertainty)
        rows.append(
            Observation({model.zero: 1.0}, 0.0, sigma(parts), Label("prior", side="level_zero"), parts)
        )
    return with_shared(survey, "level", rows)


def measured(survey: Survey) -> Mapping[tuple[str, Round], Unknown]:
    """Return, for every roll and round with level readings, the unknown of its slope."""
    if survey.level is None:
        return {}
    rolls = {roll.id: roll for roll in survey.rolls}
    slopes = {(r.roll, r.round): roll_slope(rolls[r.roll], r.round) for r in survey.level.slopes}
    heights = {(r.roll, r.round): roll_slope(rolls[r.roll], r.round) for r in survey.level.heights}
    return slopes | heights


def zero_was_found(level: LevelReadings) -> bool:
    """Return whether any roll was read both ways, which finds the zero error of the level."""
    direct = {(r.roll, r.round, r.at_mm) for r in level.slopes if not r.reversed}
    return any((r.roll, r.round, r.at_mm) in direct for r in level.slopes if r.reversed)


@dataclass(frozen=True, slots=True)
class _Model:
    survey: Survey
    rolls: Mapping[str, Roll]
    zero: Unknown
    sagging: frozenset[str]


def _slope_row(model: _Model, reading: SlopeReading) -> Observation:
    roll, parts = model.rolls[reading.roll], level_parts(model.survey.uncertainty)
    terms = {roll_slope(roll, reading.round): 1.0, model.zero: -1.0 if reading.reversed else 1.0}
    if roll.id in model.sagging:
        terms[sag(roll)] = _from_middle_m(roll, reading.at_mm)
    side = "reversed" if reading.reversed else "direct"
    label = Label("level", None, roll.id, None, side, reading.round, 0, reading.where)
    taper = _taper_slope(roll)
    return Observation(terms, reading.slope_mm_per_m - taper, sigma(parts), label, parts, known=taper)


def _height_rows(model: _Model, reading: HeightReading, series: int) -> Iterator[Observation]:
    roll = model.rolls[reading.roll]
    for side, value, y_mm, repeats in ends_of(reading):
        y, parts = y_mm / 1000.0, roll_parts(model.survey.uncertainty, repeats)
        terms = {
            Unknown("height", roll.id, str(series), roll_block(roll.id)): 1.0,
            roll_slope(roll, reading.round): y,
        }
        if roll.id in model.sagging:
            terms[sag(roll)] = _from_middle_m(roll, y_mm) ** 2 / 2.0
        label = Label("height", None, roll.id, None, side, reading.round, series, reading.where)
        lift = _taper_slope(roll) * y
        yield Observation(terms, value - lift, sigma(parts), label, parts, y, lift)


def sag(roll: Roll) -> Unknown:
    """Return the unknown sag of a roll, mm/m per metre."""
    return Unknown("sag", roll.id, block=roll_block(roll.id))


def _from_middle_m(roll: Roll, at_mm: float) -> float:
    return (at_mm - roll.bearings_mm / 2.0) / 1000.0


def _taper_slope(roll: Roll) -> float:
    """What the taper adds to the slope of the top of the roll, mm/m: a larger drive side raises it there."""
    return 1000.0 * roll.taper_mm / (2.0 * roll.face_mm)
