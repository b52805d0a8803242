"""A survey worked out apart from the program: from the bare YAML, by dense least squares, in one go.

Nothing of `certgen` is used. The way is another one too: a seating is one observation, the difference of its
two ends, instead of two with an unknown height; all unknowns stand in one matrix, and the covariance is its
inverse. Lengths in mm, slopes in mm/m, stations in m. It knows only the keys that the tested surveys use.
"""

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
import yaml

Key = tuple[str, str]  # roll and round; a roll that cannot be moved has "both"
ROUNDS = ("as_found", "as_left")
# one of each unit in mm or mm/m: an inch is 25.4 mm, a second of arc pi/648000 rad
_UNITS = {
    "mm": 1.0,
    "in": 25.4,
    "thou": 0.0254,
    "mm/m": 1.0,
    "in/ft": 1000.0 / 12.0,
    "thou/ft": 1.0 / 12.0,
    "arcsec": 1000.0 * math.pi / 648000.0,
}
_DIVISORS = {"rectangular": math.sqrt(3.0), "triangular": math.sqrt(6.0), "u_shaped": math.sqrt(2.0)}


@dataclass(frozen=True)
class Found:
    """A slope with its standard uncertainty, mm/m."""

    value: float
    u: float


class Dense:
    """One aspect: unknowns by name in a matrix of whitened rows."""

    def __init__(self) -> None:
        """Start without rows."""
        self.rows: list[tuple[dict[object, float], float, float]] = []

    def add(self, terms: Mapping[object, float], value: float, sigma: float) -> None:
        """Add the sum of coefficient times unknown, read as `value`; terms without a name are known zeros."""
        self.rows.append(({name: c for name, c in terms.items() if name is not None}, value, sigma))

    def solve(self) -> None:
        """Invert the normal matrix once."""
        self.names = list(dict.fromkeys(name for terms, _, _ in self.rows for name in terms))
        matrix = np.array([[t.get(name, 0.0) / s for name in self.names] for t, _, s in self.rows])
        right = np.array([value / sigma for _, value, sigma in self.rows])
        self.cov = np.linalg.inv(matrix.T @ matrix)
        self.x = self.cov @ (matrix.T @ right)

    def found(self, **terms: object) -> Found:
        """Return the difference `plus` less `minus` of two unknowns; a missing one is zero."""
        row = np.zeros(len(self.names))
        for sign, name in ((1.0, terms.get("plus")), (-1.0, terms.get("minus"))):
            if name in self.names:
                row[self.names.index(name)] += sign
        return Found(float(row @ self.x), math.sqrt(float(row @ self.cov @ row)))


class Survey:
    """The YAML with what a number without a unit means there."""

    def __init__(self, text: str) -> None:
        """Read the text."""
        self.data: dict[str, Any] = yaml.safe_load(text)
        self.readings: str = self.data["units"]["readings"]
        self.dimensions: str = self.data["units"]["dimensions"]
        self.k: float = self.data["uncertainty"]["coverage"]["k"]
        self.rolls: dict[str, dict[str, Any]] = {roll["id"]: roll for roll in self.data["rolls"]}
        self.reference: str = self.data["reference"]["roll"]
        positive = self.data.get("positive", {})
        self.roll_sign = -1.0 if positive.get("roll") == "upstream" else 1.0
        self.monument_sign = -1.0 if positive.get("monument") == "operator" else 1.0
        self.parallel, self.level = self._parallel(), self._level()

    def number(self, written: object, default: str) -> float:
        """Return a number with the unit it has, or with this one; that of a value with an uncertainty too."""
        if isinstance(written, dict):
            written = written["value"]
        value, unit = re.fullmatch(r"([-+.\d]+)\s*(.*)", str(written)).groups()  # type: ignore[union-attr]
        if unit == "div":
            level = next(one for one in self.data["instruments"] if "level" in one["kind"])
            return float(value) * self.number(level["sensitivity"], "mm/m")
        return float(value) * _UNITS[unit or default]

    def length(self, written: object) -> float:
        """Return a dimension of the line."""
        return self.number(written, self.dimensions)

    def u(self, source: str) -> float:
        """Return the standard uncertainty of a source (JCGM 100:2008, 4.3)."""
        stated = self.data["uncertainty"][source]
        for key, divisor in (
            ("standard", 1.0),
            ("half_width", _DIVISORS.get(stated.get("shape", ""), 0.0)),
            ("expanded", stated.get("k", 0.0)),
        ):
            if key in stated:
                return self.number(stated[key], self.readings) / divisor
        raise KeyError(source)

    def bearings_m(self, roll: str) -> float:
        """Return the distance of the bearings, m."""
        return self.length(self.rolls[roll]["bearings"]) / 1000.0

    def targets_mm(self, roll: str) -> tuple[float, float]:
        """Return where the target stood, operator side first."""
        at = self.rolls[roll].get("targets", self.data["targets"])
        return self.length(at["operator"]), self.length(at["drive"])

    def slope_of(self, roll: str, which: str) -> Key | None:
        """Return the unknown of a slope; None for the reference, which is zero."""
        fixed = self.rolls[roll]["adjustable"] == "none"
        return (roll, "both" if fixed else which)

    def seatings(self, setup: Mapping[str, Any]) -> Iterator[tuple[str, str, float, float]]:
        """Yield roll, round, difference of the ends (mm, drive end downstream) and span (m)."""
        for which in ROUNDS:
            for roll, given in setup.get(which, {}).items():
                near, far = self.targets_mm(roll)
                for one in given if isinstance(given, list) else [given]:
                    ends = [self.number(one[side], self.readings) for side in ("operator", "drive")]
                    yield roll, which, self.roll_sign * (ends[1] - ends[0]), (far - near) / 1000.0

    def _parallel(self) -> Dense:
        net = Dense()
        read = math.hypot(self.u("reading"), self.u("repeatability"))
        end = math.hypot(read, self.u("seating"))
        stations = {one["id"]: self.length(one["station"]) / 1000.0 for one in self.data.get("monuments", [])}
        first: str | None = None
        for setup in self.data["setups"]:
            name = str(setup["id"])
            for roll, which, difference, span in self.seatings(setup):
                slope = None if roll == self.reference else self.slope_of(roll, which)
                net.add({slope: span, ("azimuth", name): -span}, difference, math.sqrt(2.0) * end)
            for monument, given in setup.get("monuments", {}).items():
                first = first or monument
                for one in given if isinstance(given, list) else [given]:
                    terms = {
                        None if monument == first else ("monument", monument): 1.0,
                        ("offset", name): 1.0,
                        ("azimuth", name): stations[monument],
                    }
                    net.add(terms, self.monument_sign * self.number(one, self.readings), read)
        net.solve()
        return net

    def _level(self) -> Dense:
        net, turned = Dense(), False
        for which in ROUNDS:
            for roll, one in self.data["level"].get(which, {}).items():
                record = self.rolls[roll]
                # the level stands on the shell, whose top is steeper by half the taper over the face
                taper = (
                    self.length(record.get("taper", "0 mm")) * 1000.0 / (2.0 * self.length(record["face"]))
                )
                for key, sign in (("reading", 1.0), ("reversed", -1.0)):
                    if key in one:
                        turned = turned or key == "reversed"
                        slope = self.number(one[key], "mm/m") - taper
                        net.add({self.slope_of(roll, which): 1.0, "zero": sign}, slope, self.u("level"))
        if not turned:
            net.add({"zero": 1.0}, 0.0, self.u("level_zero"))
        net.solve()
        return net

    def network(self, aspect: str) -> Dense:
        """Return the network of an aspect."""
        return self.level if aspect == "level" else self.parallel

    def target(self, aspect: str, roll: str) -> float:
        """Return the cold target: minus what growth does, for parallel less what the reference does."""

        def growth(of: str, way: str) -> float:
            ends = [self.number(one, "mm") for one in self._growth(of, way)]
            return (ends[1] - ends[0]) / self.bearings_m(of)

        if aspect == "level":
            return -growth(roll, "up")
        return growth(self.reference, "downstream") - growth(roll, "downstream")

    def target_u(self, aspect: str, roll: str) -> float:
        """Return the standard uncertainty of the cold target, from the growth of the roll's own bearings."""
        ends = self._growth(roll, "up" if aspect == "level" else "downstream")
        known = [self.number(one["standard"], "mm") for one in ends if isinstance(one, dict)]
        return math.hypot(*known) / self.bearings_m(roll)

    def _growth(self, roll: str, way: str) -> list[Any]:
        stated = self.rolls[roll].get("growth", {})
        return [stated.get(side, {}).get(way, 0) for side in ("operator", "drive")]

    def limit(self, aspect: str, roll: str) -> float:
        """Return the tolerance, the roll's own before the line's."""
        stated = self.rolls[roll].get(aspect, self.data["tolerances"].get(aspect))
        return self._limit(stated, roll)

    def _limit(self, stated: Mapping[str, Any], roll: str) -> float:
        if "over" in stated:
            return self.length_of(stated["limit"]) * 1000.0 / self.length(self.rolls[roll][stated["over"]])
        return self.number(stated["limit"], "mm/m")

    def length_of(self, written: object) -> float:
        """Return a small length with its unit."""
        return self.number(written, self.readings)

    def slope(self, aspect: str, roll: str, which: str) -> Found | None:
        """Return a slope; a roll that was not read again stands as it was found."""
        net = self.network(aspect)
        for one in (which, "both", "as_found"):
            if (roll, one) in net.names:
                return net.found(plus=(roll, one))
        return None

    def change(self, aspect: str, roll: str) -> Found | None:
        """Return as left less as found, with what both share cancelled; None where only one was read."""
        net = self.network(aspect)
        keys = [(roll, which) for which in ROUNDS]
        return net.found(plus=keys[1], minus=keys[0]) if all(key in net.names for key in keys) else None

    def pairs(self) -> Iterator[tuple[str, str, float]]:
        """Yield neighbours and the tolerance of the later one against the earlier, where one is stated."""
        names = list(self.rolls)
        for before, after in pairwise(names):
            stated = self.rolls[after].get("adjacent", self.data["tolerances"].get("adjacent"))
            if stated is not None:
                yield before, after, self._limit(stated, after)

    def difference(self, aspect: str, pair: tuple[str, str], which: str) -> Found:
        """Return the later roll's slope less the earlier one's."""
        net = self.network(aspect)

        def standing(roll: str) -> Key | None:
            return next(
                (key for key in ((roll, which), (roll, "both"), (roll, "as_found")) if key in net.names), None
            )

        return net.found(plus=standing(pair[1]), minus=standing(pair[0]))

    def stop_reading(self, roll: str, which: str, aim: float) -> float:
        """Return the live reading at the drive end to stop at for a slope aimed at, in the crew's sign.

        The operator end was zeroed before the move and turns with the roll: so it is the place of the far end
        after the move less that of the near end before it.
        """
        setup = [s for s in self.data["setups"] if roll in s.get(which, {})][-1]
        azimuth = self.parallel.found(plus=("azimuth", str(setup["id"]))).value
        slope = self.slope("parallel", roll, which)
        assert slope is not None
        near, far = (at / 1000.0 for at in self.targets_mm(roll))
        before = (slope.value - azimuth) * near
        after = (aim - azimuth) * far
        return self.roll_sign * (after - before)
