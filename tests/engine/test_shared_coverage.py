"""Does U cover what readings share? True errors are drawn by what causes them, not by the model's priors.

4000 draws of each situation, |error| <= 2u; an error of one size for a whole draw is drawn anew in each.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from certgen.network.equations import Observation
from certgen.network.solution import Aspect, solve_survey
from certgen.survey.survey import (
    BearingGrowth,
    Growth,
    HeightReading,
    LevelReadings,
    OtherSource,
    RunOut,
    StandardUncertainty,
    Survey,
)
from tests.simulate.records import TARGETS, UNCERTAINTY, levelled, read, roll, setup, standard, survey, tilt

DRAWS = 4000
NAMES = ("R1", "R2", "R3", "R4")
Cause = Callable[[np.random.Generator, list[Observation]], np.ndarray]


def coverage(aspect: Aspect, cause: Cause) -> np.ndarray:
    """Return the share of draws in which the error of each slope lies within 2u, in their order."""
    rng, network = np.random.default_rng(3), aspect.network
    readings = [row for row in network.observations if row.label.source != "prior"]
    drawn = cause(rng, readings) + rng.normal(0.0, [row.sigma for row in readings], (DRAWS, len(readings)))
    chosen = [i for i, row in enumerate(network.observations) if row.label.source != "prior"]
    slopes = [one for one in aspect.slopes.values() if one.u > 0.0]
    gains = np.array([network.gains(one)[chosen] for one in slopes])
    return np.mean(np.abs(drawn @ gains.T) <= 2.0 * np.array([one.u for one in slopes]), axis=0)


def never_reversed(zero: float) -> Survey:
    """Return four rolls read twice with a level that was never turned, its zero stated so."""
    stated = replace(UNCERTAINTY, level_zero_mm_per_m=standard(zero))
    readings = levelled(*(tilt(name, 0.0) for name in NAMES for _ in range(2)))
    return survey(tuple(map(roll, NAMES)), level=readings, uncertainty=stated)


@pytest.mark.parametrize("zero", [0.01, 0.02, 0.04])
def test_level_that_was_never_reversed_is_covered(zero: float) -> None:
    """Its zero error is one for all rolls and readings of the visit."""
    found = coverage(
        solve_survey(never_reversed(zero)).level,
        lambda rng, rows: rng.normal(0.0, zero, (DRAWS, 1)) * np.ones(len(rows)),
    )
    assert found == pytest.approx(0.954, abs=0.014)
    assert 0.94 <= np.mean(found) <= 0.965


def over_a_plane(tilt_mm_per_m: float) -> Survey:
    """Return four rolls read as heights twice in each round."""
    pairs = tuple(
        HeightReading(name, which, 0.0, 0.0, TARGETS, "")
        for which in ("as_found", "as_left")
        for name in (*NAMES, *NAMES)
    )
    stated = replace(UNCERTAINTY, level_plane_mm_per_m=standard(tilt_mm_per_m))
    return survey(tuple(map(roll, NAMES)), level=LevelReadings("laser", (), pairs), uncertainty=stated)


@pytest.mark.parametrize("size", [0.004, 0.01, 0.03])
def test_heights_over_a_plane_are_covered(size: float) -> None:
    """The plane stands tilted anew in each round, the same for all that is read over it."""

    def cause(rng: np.random.Generator, rows: list[Observation]) -> np.ndarray:
        planes = {which: rng.normal(0.0, size, DRAWS) for which in ("as_found", "as_left")}
        return np.column_stack([planes[str(row.label.round)] * row.at_m for row in rows])

    found = coverage(solve_survey(over_a_plane(size)).level, cause)
    assert 0.94 <= np.mean(found) <= 0.965


def running_out(amplitude: float, seatings: int, angles: int) -> Survey:
    """Return rolls that run out by ± so much at either end, each read in so many seatings."""
    shape = StandardUncertainty(amplitude / 2.0**0.5, "u_shaped", "half width")
    rolls = tuple(roll(name, run_out=RunOut(shape, angles)) for name in NAMES)
    return survey(
        rolls, (setup("A", {}, *(read(name, 0.0, 0.0) for name in NAMES for _ in range(seatings))),)
    )


@pytest.mark.parametrize(("seatings", "angles"), [(1, 1), (4, 1), (4, 4)])
def test_rolls_that_run_out_are_covered(seatings: int, angles: int) -> None:
    """Each end runs out once a turn with a phase of its own; the roll stands at any angle, seldom turned."""

    def cause(rng: np.random.Generator, rows: list[Observation]) -> np.ndarray:
        stands = {
            (row.label.roll, row.label.side, n): 0.008 * np.cos(rng.uniform(0.0, 2.0 * np.pi, DRAWS))
            for row in rows
            for n in range(angles)
        }
        return np.column_stack(
            [stands[row.label.roll, row.label.side, row.label.series % seatings % angles] for row in rows]
        )

    found = coverage(solve_survey(running_out(0.008, seatings, angles)).parallel, cause)
    assert 0.94 <= np.mean(found) <= 0.965


def test_run_out_left_unstated_is_not_covered() -> None:
    """What this guards against: four readings of a roll that was not turned seem to average it away."""
    plain = running_out(0.02, 4, 1)
    bare = replace(plain, rolls=tuple(replace(one, run_out=None) for one in plain.rolls))

    def cause(rng: np.random.Generator, rows: list[Observation]) -> np.ndarray:
        ends = {
            (row.label.roll, row.label.side): 0.02 * np.cos(rng.uniform(0.0, 2.0 * np.pi, DRAWS))
            for row in rows
        }
        return np.column_stack([ends[row.label.roll, row.label.side] for row in rows])

    assert np.mean(coverage(solve_survey(bare).parallel, cause)) < 0.80


@pytest.mark.parametrize("shared", ["setup", "roll", "reading"])
def test_further_sources_are_covered(shared: str) -> None:
    """A slope in common to a setup, a roll or one reading, over two setups tied by two rolls."""
    other = OtherSource("air", "parallel", shared, standard(0.008))
    taken = survey(
        tuple(map(roll, NAMES)),
        (
            setup("A", {}, *(read(name, 0.0, 0.0) for name in ("R1", "R2", "R2"))),
            setup("B", {}, *(read(name, 0.0, 0.0) for name in ("R2", "R3", "R4", "R4"))),
        ),
        uncertainty=replace(UNCERTAINTY, other=(other,)),
    )

    def cause(rng: np.random.Generator, rows: list[Observation]) -> np.ndarray:
        keys = [
            {
                "setup": row.label.setup,
                "roll": row.label.roll,
                "reading": (row.label.setup, row.label.series),
            }[shared]
            for row in rows
        ]
        drawn = {key: rng.normal(0.0, 0.008, DRAWS) for key in dict.fromkeys(keys)}
        return np.column_stack([drawn[key] * row.at_m for key, row in zip(keys, rows, strict=True)])

    assert 0.94 <= np.mean(coverage(solve_survey(taken).parallel, cause)) <= 0.965


def test_errors_against_a_target_that_is_not_known_exactly_are_covered() -> None:
    """The growth of each bearing differs from what is stated; that of the reference takes all with it."""
    grows = Growth(
        BearingGrowth(0.0, 0.1, None, standard(0.03)), BearingGrowth(0.0, 0.3, None, standard(0.04))
    )
    rolls = tuple(roll(name, growth=grows) for name in NAMES)
    aspect = solve_survey(
        survey(rolls, (setup("A", {}, *(read(name, 0.0, 0.0) for name in NAMES)),))
    ).parallel
    rng = np.random.default_rng(4)
    turned = {name: (rng.normal(0.0, 0.04, DRAWS) - rng.normal(0.0, 0.03, DRAWS)) / 2.7 for name in NAMES}
    for name in NAMES[1:]:
        slope, judged = aspect.slopes[name, "as_found"], aspect.judged[name, "as_found"]
        error = rng.normal(0.0, slope.u, DRAWS) + turned[name] - turned["R1"]
        assert np.mean(np.abs(error) <= 2.0 * judged.u) == pytest.approx(0.954, abs=0.014)
