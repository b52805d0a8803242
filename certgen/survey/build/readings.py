"""The readings in the signs of the networks, and their scatter where several were taken.

Rolls are positive downstream, monuments towards the rolls.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import sqrt
from statistics import fmean
from statistics import fmean as mean

from certgen.survey.checked import Checked
from certgen.survey.checks.needed import readings_of
from certgen.survey.survey import (
    ROUNDS,
    HeightReading,
    LevelCheck,
    LevelReadings,
    MonumentReading,
    Positive,
    Roll,
    RollReading,
    Round,
    Setup,
    SlopeReading,
    StandardUncertainty,
)


@dataclass(frozen=True, slots=True)
class Readings:
    """What the readings of one file need to know of the rest of it."""

    rolls: Mapping[str, Roll]
    positive: Positive
    laser: str

    def setup(self, node: Checked) -> Setup:
        """Return one setup of the laser."""
        instrument, day, turned = node.get("instrument"), node.get("date"), node.get("reversed")
        return Setup(
            id=node["id"].text,
            instrument=instrument.text if instrument else self.laser,
            monuments=tuple(self._monuments(node)),
            readings=tuple(reading for when in ROUNDS for reading in self._rolls(node, when)),
            reversed=bool(turned and turned.value),
            day=day.day if day else None,
            level_check=_level_check(node.get("level_check")),
        )

    def level(self, node: Checked) -> LevelReadings:
        """Return all readings for level."""
        slopes: list[SlopeReading] = []
        heights: list[HeightReading] = []
        for when in ROUNDS:
            for name, series in node.children(when).items():
                for reading in series.items:
                    if reading.get("operator"):
                        operator, drive = repeated(reading)
                        height = HeightReading(
                            roll=name,
                            round=when,
                            operator_mm=mean(operator),
                            drive_mm=mean(drive),
                            y_mm=self._targets(name),
                            where=reading.where,
                            repeats=(len(operator), len(drive)),
                            exclude=_excluded(reading),
                        )
                        heights.append(height)
                    else:
                        slopes.extend(self._slopes(reading, name, when))
        return LevelReadings(node["instrument"].text, tuple(slopes), tuple(heights))

    def _monuments(self, node: Checked) -> Iterator[MonumentReading]:
        sign = -1 if self.positive.monument == "operator" else 1
        for name, readings in node.children("monuments").items():
            for index, reading in enumerate(readings.items):
                value, moment = reading.get("reading") or reading, index / max(len(readings.items) - 1, 1)
                read = _signed(value.base, sign)
                yield MonumentReading(name, read, reading.where, _excluded(reading), moment)

    def _rolls(self, node: Checked, when: Round) -> Iterator[RollReading]:
        sign = self.positive.roll_sign
        for name, series in node.children(when).items():
            for reading in series.items:
                operator, drive = repeated(reading)
                yield RollReading(
                    roll=name,
                    round=when,
                    operator_mm=_signed(mean(operator), sign),
                    drive_mm=_signed(mean(drive), sign),
                    y_mm=self._targets(name),
                    where=reading.where,
                    repeats=(len(operator), len(drive)),
                    exclude=_excluded(reading),
                )

    def _slopes(self, reading: Checked, name: str, when: Round) -> Iterator[SlopeReading]:
        at = reading.get("at")
        at_mm = at.base if at else self.rolls[name].bearings_mm / 2
        for key, turned in (("reading", False), ("reversed", True)):
            found = reading.get(key)
            if found:
                yield SlopeReading(name, when, at_mm, found.base, turned, found.where, _excluded(reading))

    def _targets(self, name: str) -> tuple[float, float]:
        """Return where the target stood; where none is stated the file is refused, and any place will do."""
        return self.rolls[name].targets_mm or (0.0, self.rolls[name].bearings_mm)


def repeated(reading: Checked) -> tuple[list[float], list[float]]:
    """Return what was read at the operator side and at the drive side, each once or repeatedly, in mm."""
    operator, drive = ([item.base for item in reading.list(side)] for side in ("operator", "drive"))
    return operator or [0.0], drive or [0.0]


def _excluded(reading: Checked) -> str | None:
    reason = reading.get("exclude", "reason")
    return reason.text if reason else None


def _signed(value: float, sign: float) -> float:
    return sign * value + 0.0  # the sum keeps a turned zero from becoming -0.0


def _level_check(node: Checked | None) -> LevelCheck | None:
    return LevelCheck(node["before"].base, node["after"].base) if node else None


def scatter(root: Checked) -> StandardUncertainty | None:
    """Return the pooled standard deviation of one reading, mm; None where no reading was repeated.

    Readings that were set aside count as little here as in the result.
    """
    ends = list(_ends(root))
    dof = sum(len(end) - 1 for end in ends)
    if dof == 0:
        return None
    squares = sum((value - fmean(end)) ** 2 for end in ends for value in end)
    stated = f"scatter of repeated readings, {dof} degrees of freedom"
    return StandardUncertainty(sqrt(squares / dof), "normal", stated, float(dof))


def _ends(root: Checked) -> Iterator[list[float]]:
    for group in ("setups", "level"):
        for _, _, reading in readings_of(root, group):
            if reading.get("operator") and not reading.get("exclude"):
                yield from repeated(reading)
