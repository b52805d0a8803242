"""Surveys written out as survey files, in the units and signs asked for. Numbers keep every digit."""

from dataclasses import dataclass

import yaml

from certgen.survey import accept, read_bytes
from certgen.survey.survey import ROUNDS, Monument, Roll, Setup, StandardUncertainty, Survey

MM_PER = {"mm": 1.0, "in": 25.4, "thou": 0.0254, "cm": 10.0}

Tree = dict[str, object]


@dataclass(frozen=True)
class Writer:
    """How to write: units of readings, monuments and dimensions, and which way a positive reading means."""

    readings: str = "mm"
    monuments: str = "mm"
    dimensions: str = "mm"
    roll: str = "downstream"
    monument: str = "drive"

    def text(self, survey: Survey) -> str:
        """Return the survey as the text of a survey file."""
        head: Tree = {"survey": 1, **_people(survey), "instruments": _instruments(survey)}
        head["units"] = {"readings": self.readings, "dimensions": self.dimensions}
        head["uncertainty"] = _uncertainty(survey)
        head["tolerances"] = {key: {"limit": "0.05 mm/m"} for key in ("level", "parallel", "adjacent")}
        head["decision"] = survey.decision
        head["positive"] = {"roll": self.roll, "monument": self.monument}
        reference = survey.reference
        head["reference"] = (
            {"roll": reference.roll} if reference.roll else {"monuments": [*reference.monuments]}
        )
        tree = head | self._line(survey) | {"level": _level(survey)}
        return yaml.safe_dump(tree, sort_keys=False)

    def _line(self, survey: Survey) -> Tree:
        return {
            "rolls": [self._roll(roll) for roll in survey.rolls],
            "monuments": [self._monument(monument) for monument in survey.monuments],
            "setups": [self._setup(setup) for setup in survey.setups],
        }

    def _roll(self, roll: Roll) -> Tree:
        written: Tree = {"id": roll.id, "name": roll.name, "adjustable": roll.adjustable}
        for key in ("station", "height", "diameter", "face", "bearings", "taper"):
            written[key] = self._size(getattr(roll, f"{key}_mm"))
        operator, drive = roll.targets_mm or (0.0, 0.0)
        return written | {"targets": {"operator": self._size(operator), "drive": self._size(drive)}}

    def _monument(self, monument: Monument) -> Tree:
        return {"id": monument.id, "station": self._size(monument.station_mm)}

    def _size(self, value_mm: float) -> str:
        return f"{value_mm / MM_PER[self.dimensions]!r} {self.dimensions}"

    def _setup(self, setup: Setup) -> Tree:
        sign = 1.0 if self.monument == "drive" else -1.0
        written: Tree = {"id": setup.id, "instrument": setup.instrument}
        written["monuments"] = {
            each.monument: f"{sign * each.value_mm / MM_PER[self.monuments]!r} {self.monuments}"
            for each in setup.monuments
        }
        if setup.reversed:
            written["reversed"] = True
        return written | {which: taken for which in ROUNDS if (taken := self._taken(setup, which))}

    def _taken(self, setup: Setup, which: str) -> Tree:
        """The readings of one round; bare numbers, in the file's own unit for readings."""
        scale = MM_PER[self.readings] * (1.0 if self.roll == "downstream" else -1.0)
        return {
            each.roll: {"operator": each.operator_mm / scale, "drive": each.drive_mm / scale}
            for each in setup.readings
            if each.round == which
        }


def _people(survey: Survey) -> Tree:
    made_by, customer = survey.contractor, survey.customer
    return {
        "certificate": {"number": "T-1", "revision": 0, "issued": survey.visit.finished, "units": "both"},
        "contractor": {key: getattr(made_by, key) for key in made_by.__dataclass_fields__},
        "customer": {key: getattr(customer, key) for key in customer.__dataclass_fields__},
        "line": {"name": survey.line.name, "asset": survey.line.asset, "location": survey.line.location},
        "visit": {"started": survey.visit.started, "finished": survey.visit.finished},
    }


def _instruments(survey: Survey) -> list[Tree]:
    keys = ("id", "kind", "serial", "calibrated", "due", "traceable_to")
    listed: list[Tree] = [{key: getattr(one, key) for key in keys} for one in survey.instruments]
    for written, one in zip(listed, survey.instruments, strict=True):
        if one.sensitivity_mm_per_m is not None:
            written["sensitivity"] = f"{one.sensitivity_mm_per_m!r} mm/m"
    return listed


def _uncertainty(survey: Survey) -> Tree:
    stated = survey.uncertainty
    lengths = {
        "reading": stated.reading_mm,
        "repeatability": stated.repeatability_mm,
        "seating": stated.seating_mm,
    }
    slopes = {"level": stated.level_mm_per_m, "squareness": stated.squareness_mm_per_m}
    written = {key: _standard(one, "mm") for key, one in lengths.items() if one is not None}
    written |= {key: _standard(one, "mm/m") for key, one in slopes.items() if one is not None}
    return {**written, "coverage": {"k": stated.coverage.k}}


def _standard(one: StandardUncertainty, unit: str) -> Tree:
    return {"standard": f"{one.value!r} {unit}"}


def _level(survey: Survey) -> Tree:
    """Every reading with its place, the reversed one beside the direct one of the same place."""
    taken: dict[str, dict[str, dict[float, Tree]]] = {}
    for each in survey.level.slopes if survey.level else ():
        places = taken.setdefault(each.round, {}).setdefault(each.roll, {})
        place = places.setdefault(each.at_mm, {"at": f"{each.at_mm!r} mm"})
        place["reversed" if each.reversed else "reading"] = f"{each.slope_mm_per_m!r} mm/m"
    rounds = {
        which: {name: [*places.values()] for name, places in rolls.items()} for which, rolls in taken.items()
    }
    return {"instrument": "level", **rounds}


def read_back(text: str) -> Survey:
    """Return the survey that certgen reads from the text of a survey file."""
    return accept("survey.yaml", read_bytes("survey.yaml", text.encode()))
