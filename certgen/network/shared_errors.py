"""Errors that readings share: each is one unknown with a prior, so that more readings do not shrink it.

An error of slope (mm/m) enters the reading of one end in proportion to its place across the machine, and a
reading of the level as it is. The prior is an observation of zero with the stated uncertainty. What two rolls
share cancels in their difference because it is the same unknown in both. Source: JCGM 100:2008, 5.2.2 and
F.1.2.3 (correlation by a common input); as unknowns with priors, JCGM 102:2011, 6.2.

    tilt of the plane that heights are read over     one for each round: the plane is set up anew
    run-out of a roll under the target               one for each roll, round, end and angle of the roll
    scale of an instrument                           one for each instrument, in proportion to the reading
    growth to running                                one for each roll, which enters its error and no reading
    other sources                                    one for the line, each setup or round, roll, or reading
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import hypot, inf
from typing import Literal, NamedTuple

from certgen.network.equations import Label, Observation, Unknown, roll_block
from certgen.survey.survey import OtherSource, Roll, StandardUncertainty, Survey

Aspect = Literal["level", "parallel"]
OTHER = "other "  # before the name of a further source, where sources are told apart
_ENDS = frozenset({"roll", "height"})


class _Error(NamedTuple):
    """One error as it enters a reading: its unknown, by how much of one unit, and what is stated of it.

    `whose` is the roll or instrument that it is stated for by itself; empty where it is stated once.
    """

    unknown: Unknown
    coefficient: float
    source: str
    said: StandardUncertainty
    whose: str = ""


def with_shared(survey: Survey, aspect: Aspect, rows: Sequence[Observation]) -> list[Observation]:
    """Return the readings with the errors that they share, the priors of these, and those of the growth."""
    rolls = {roll.id: roll for roll in survey.rolls}
    model = _Model(
        survey=survey,
        aspect=aspect,
        rolls=rolls,
        lasers={setup.id: setup.instrument for setup in survey.setups},
        scales={one.id: one.scale for one in survey.instruments if one.scale is not None},
        angles=dict(_angles(rolls, rows)),
        others=tuple(one for one in survey.uncertainty.other if one.applies == aspect),
    )
    priors: dict[Unknown, Observation] = {}
    found: list[Observation] = []
    for index, row in enumerate(rows):
        errors = [one for one in _errors(model, index, row) if one.said.value > 0.0]
        priors |= {one.unknown: _prior(one, row.label) for one in errors}
        entering = {one.unknown: one.coefficient for one in errors}
        found.append(row._replace(terms={**row.terms, **entering}) if entering else row)
    read = dict.fromkeys(row.label.roll for row in rows if row.label.source != "prior")
    return [*found, *priors.values(), *_growth(model, read)]


def error_terms(survey: Survey, aspect: Aspect, roll: Roll) -> Mapping[Unknown, float]:
    """Return what a roll's error of slope holds beside its slope: how wrong its target may be."""
    terms = {growth(roll): 1.0} if _growth_u(roll, aspect) is not None else {}
    reference = next((one for one in survey.rolls if one.id == survey.reference.roll), None)
    if aspect == "parallel" and reference is not None and _growth_u(reference, aspect) is not None:
        if roll.id == reference.id:
            return {}
        terms[growth(reference)] = -1.0
    return terms


def growth(roll: Roll) -> Unknown:
    """Return the unknown by which the slope that a roll's growth brings differs from what is stated, mm/m."""
    return Unknown("growth", roll.id, block=roll_block(roll.id))


@dataclass(frozen=True, slots=True)
class _Model:
    """What tells which errors enter a reading. `angles` are those of seatings, by index of the reading."""

    survey: Survey
    aspect: Aspect
    rolls: Mapping[str, Roll]
    lasers: Mapping[str, str]
    scales: Mapping[str, StandardUncertainty]
    angles: Mapping[int, int]
    others: tuple[OtherSource, ...]


def _angles(rolls: Mapping[str, Roll], rows: Sequence[Observation]) -> Iterator[tuple[int, int]]:
    """Yield the angle, numbered from 0, of every reading of an end of a roll that runs out."""
    seatings: dict[tuple[str | None, str | None], dict[object, int]] = defaultdict(dict)
    for index, row in enumerate(rows):
        label = row.label
        if label.source in _ENDS and label.roll is not None:
            known = seatings[label.roll, label.round]
            seating = known.setdefault((label.setup, label.series), len(known))
            if (run_out := rolls[label.roll].run_out) is not None:
                yield index, seating % run_out.angles


def _errors(model: _Model, index: int, row: Observation) -> Iterator[_Error]:
    label = row.label
    if label.source == "prior":
        return
    # what is read is the truth times (1 + scale); linearised at the reading itself
    level = model.survey.level
    if row.label.setup is not None:
        instrument = model.lasers[row.label.setup]
    else:
        instrument = level.instrument if level is not None else ""
    if instrument in model.scales:
        enters, said = row.value + row.known, model.scales[instrument]
        yield _Error(scale(instrument), enters, "scale", said, instrument)
    if label.source == "monument" or label.roll is None:
        return
    plane = model.survey.uncertainty.level_plane_mm_per_m
    if label.source == "height" and plane is not None:
        yield _Error(level_plane(str(label.round)), row.at_m, "level_plane", plane)
    run_out = model.rolls[label.roll].run_out
    if run_out is not None and index in model.angles:
        angle = f"{label.round}, angle {model.angles[index]}, {label.side}"
        unknown = Unknown("run_out", label.roll, angle, roll_block(label.roll))
        yield _Error(unknown, 1.0, "run_out", run_out.u, label.roll)
    enters = row.at_m if label.source in _ENDS else 1.0
    for other in model.others:
        yield _Error(_other(other, label, index), enters, f"{OTHER}{other.name}", other.u)


def level_plane(in_round: str) -> Unknown:
    """Return the unknown tilt of the plane that the heights of a round were read over, mm/m."""
    return Unknown("level_plane", in_round)


def scale(instrument: str) -> Unknown:
    """Return the unknown by which an instrument shows too much, as a fraction."""
    return Unknown("scale", instrument)


def _other(other: OtherSource, label: Label, index: int) -> Unknown:
    if other.shared == "line":
        return Unknown("other", other.name)
    if other.shared == "setup":
        return Unknown("other", other.name, str(label.setup or label.round))
    roll = str(label.roll)
    if other.shared == "roll":
        return Unknown("other", other.name, roll, roll_block(roll))
    # both ends of one seating are one reading of the slope
    reading = f"{label.setup} {label.round} {label.series}" if label.source in _ENDS else f"{index}"
    return Unknown("other", other.name, reading, roll_block(roll))


def _prior(error: _Error, label: Label) -> Observation:
    """An observation of zero with the stated uncertainty."""
    local = error.unknown.block is not None
    side = "other" if error.source.startswith(OTHER) else error.source
    of = Label("prior", None, label.roll if local else None, None, side, label.round if local else None)
    return _zero(error.unknown, error.source, error.said, of)._replace(whose=error.whose)


def _zero(unknown: Unknown, source: str, said: StandardUncertainty, label: Label) -> Observation:
    return Observation({unknown: 1.0}, 0.0, said.value, label, {source: said.value**2}, said=said)


def _growth(model: _Model, read: Iterable[str | None]) -> Iterator[Observation]:
    for name in read:
        if name is not None and (said := _growth_u(model.rolls[name], model.aspect)) is not None:
            label = Label("prior", None, name, None, "growth")
            yield _zero(growth(model.rolls[name]), "growth", said, label)._replace(whose=name)


def _growth_u(roll: Roll, aspect: Aspect) -> StandardUncertainty | None:
    """What is stated of the growth of both bearings, as one uncertainty of slope; None where nothing is."""
    ends = (roll.growth.operator, roll.growth.drive)
    stated = [end.up_u if aspect == "level" else end.downstream_u for end in ends]
    known = [one for one in stated if one is not None]
    if not known:
        return None
    per_mm = 1000.0 / roll.bearings_mm
    if len(known) == 1:
        one = known[0]
        return StandardUncertainty(one.value * per_mm, one.distribution, one.stated, one.dof)
    u = hypot(*(one.value for one in known))
    spread = sum(one.value**4 / one.dof for one in known)
    distribution = known[0].distribution if len({one.distribution for one in known}) == 1 else "normal"
    said = known[0].stated if known[0].stated == known[1].stated else ""
    return StandardUncertainty(u * per_mm, distribution, said, u**4 / spread if spread > 0.0 else inf)
