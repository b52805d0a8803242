"""Closures where readings share errors: the readings themselves differ by so much, whatever explains it."""

from dataclasses import replace

import numpy as np
import pytest

from certgen.network.least_squares import Network
from certgen.network.solution import solve_survey
from certgen.survey.survey import LevelCheck, MonumentReading, OtherSource, RunOut, Setup, Survey
from tests.simulate.records import levelled, read, roll, setup, standard, survey, tilt

SPAN_M = 2.1
SIGMA = np.sqrt(0.003**2 + 0.008**2 + 0.010**2)
TURN = 0.04
CHECK = LevelCheck(0.0, TURN)


def turning(edition: int = 2) -> Survey:
    """Return a setup whose level changed by 0.04 mm/m while R1 was read first and last, 0.042 mm apart."""
    one = setup(
        "A", {}, read("R1", 0.0, 1.0), read("R2", 0.0, 0.1), read("R1", 0.2, 1.242), level_check=CHECK
    )
    return replace(survey((roll("R1"), roll("R2")), (one,)), edition=edition)


def test_closure_is_what_the_readings_differ_by_though_the_setup_turned() -> None:
    """By hand: 0.042 mm over the span; u of two seatings, and of the whole turn (time 0 against time 1)."""
    (closure,) = solve_survey(turning()).parallel.quality.closures
    assert closure.difference == pytest.approx(0.042 / SPAN_M, rel=1e-9)
    assert closure.u == pytest.approx(np.hypot(2.0 * SIGMA / SPAN_M, TURN / np.sqrt(3.0)), rel=1e-9)
    assert closure.checked


def test_first_edition_took_off_what_the_turning_was_found_to_be() -> None:
    """What an archived certificate says stays: readings weighed against a turn of each by itself."""
    (closure,) = solve_survey(turning(edition=1)).parallel.quality.closures
    read_u, turn_u = 2.0 * SIGMA / SPAN_M, TURN / np.sqrt(6.0)
    left = read_u**2 / (read_u**2 + turn_u**2)
    assert closure.difference == pytest.approx(left * 0.042 / SPAN_M, rel=1e-9)


def test_what_both_readings_share_cancels() -> None:
    """One angle of a roll that runs out, one setup, one line: nothing of it is in the difference."""
    shared = (
        OtherSource("frame", "parallel", "line", standard(0.5)),
        OtherSource("air", "parallel", "setup", standard(0.5)),
    )
    one = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.10), read("R2", 1.0, 1.13))
    line = survey((roll("R1"), roll("R2", run_out=RunOut(standard(0.5)))), (one,))
    line = replace(line, uncertainty=replace(line.uncertainty, other=shared))
    (closure,) = solve_survey(line).parallel.quality.closures
    assert closure.difference == pytest.approx(0.03 / SPAN_M, rel=1e-9)
    assert closure.u == pytest.approx(2.0 * SIGMA / SPAN_M, rel=1e-9)


def test_run_out_at_two_angles_is_part_of_the_difference() -> None:
    """Each end of each seating is off by its own amount."""
    one = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.10), read("R2", 1.0, 1.13))
    line = survey((roll("R1"), roll("R2", run_out=RunOut(standard(0.02), angles=2))), (one,))
    (closure,) = solve_survey(line).parallel.quality.closures
    assert closure.difference == pytest.approx(0.03 / SPAN_M, rel=1e-9)
    assert closure.u == pytest.approx(2.0 * np.hypot(SIGMA, 0.02) / SPAN_M, rel=1e-9)


def test_monument_read_again_in_a_setup_that_turned() -> None:
    """The readings differ by 0.05 mm; the turn times the place of the monument, and the shift of the head."""
    marks = tuple(
        MonumentReading(name, value, f"A.{name}", moment=moment)
        for moment, values in ((0.0, (0.0, 0.0)), (1.0, (0.05, -0.05)))
        for name, value in zip(("M1", "M2"), values, strict=True)
    )
    one = Setup("A", "laser", marks, (read("R1", 0.0, 0.0), read("R2", 0.0, 0.1)), level_check=CHECK)
    line = survey((roll("R1"), roll("R2")), (one,), {"M1": -2000.0, "M2": 4000.0})
    first, second = solve_survey(line).parallel.quality.closures
    assert (first.difference, second.difference) == (pytest.approx(0.05), pytest.approx(-0.05))
    turned = TURN / np.sqrt(3.0) * np.hypot(3.0, 3.0)  # 3 m from the middle, and a shift over half of 6 m
    assert first.u == pytest.approx(np.sqrt(2.0 * (0.003**2 + 0.008**2) + turned**2), rel=1e-9)
    assert (first.checked, second.checked) == (True, True)


def between() -> Network:
    """Return two setups that turned, tied by monuments read first and by two rolls that run out."""
    marks = {"M1": -2000.0, "M2": 1500.0, "M3": 6000.0}
    setups = tuple(
        setup(name, dict(zip(marks, at, strict=True)), *readings, level_check=CHECK)
        for name, at, readings in (
            ("A", (0.01, 0.0, 0.02), (read("R1", 0.0, 0.0), read("R2", 0.0, 0.10), read("R3", 0.0, 0.2))),
            ("B", (0.0, 0.03, 0.0), (read("R3", 0.0, 0.16), read("R2", 0.0, 0.13))),
        )
    )
    rolls = (roll("R1"), roll("R2", run_out=RunOut(standard(0.02), angles=2)), roll("R3"))
    return solve_survey(survey(rolls, setups, marks)).parallel


def test_closure_between_setups_by_plain_generalised_least_squares() -> None:
    """The same with dense matrices, where shared errors stand in the covariance and are no unknowns."""
    aspect = between()
    rows = aspect.network.observations
    stated = {unknown: one.sigma for one in rows if one.label.source == "prior" for unknown in one.terms}
    taken = [one for one in rows if one.label.source != "prior"]
    plain = list(dict.fromkeys(u for one in taken for u in one.terms if u not in stated))
    x = np.array([[one.terms.get(u, 0.0) for u in plain] for one in taken])
    z = np.array([[one.terms.get(u, 0.0) * su for u, su in stated.items()] for one in taken])
    v, y = z @ z.T + np.diag([one.sigma**2 for one in taken]), np.array([one.value for one in taken])
    b = np.linalg.solve(x.T @ np.linalg.solve(v, x), x.T @ np.linalg.inv(v))
    left = np.eye(len(taken)) - x @ b
    for closure in aspect.quality.closures:
        g = np.zeros(len(taken))
        for index, one in enumerate(taken):
            sign = {closure.label: 1.0, closure.first: -1.0}
            for label, way in sign.items():
                if label._replace(side=None, where="") == one.label._replace(side=None, where=""):
                    end = {None: 1.0, "operator": -1.0 / SPAN_M, "drive": 1.0 / SPAN_M}[one.label.side]
                    g[index] += way * end
        assert closure.difference == pytest.approx(g @ left @ y, abs=1e-9)
        assert closure.u == pytest.approx(np.sqrt(g @ left @ v @ left.T @ g), rel=1e-6)
    assert len(aspect.quality.closures) == 5


def test_monuments_that_alone_hold_a_setup_are_not_checked_though_another_turned() -> None:
    """5 mm wrong in B leaves nothing to see: that A may have turned makes no check of it."""
    marks = tuple(
        MonumentReading(name, 0.0, f"A.{name}", moment=at) for at in (0.0, 1.0) for name in ("M1", "M2")
    )
    turned = Setup("A", "laser", marks, (read("R1", 0.0, 0.0), read("R2", 0.0, 0.1)), level_check=CHECK)
    held = setup("B", {"M1": 0.0, "M2": 5.0}, read("R3", 0.0, 0.1))
    line = survey((roll("R1"), roll("R2"), roll("R3")), (turned, held), {"M1": -2000.0, "M2": 4000.0})
    found = solve_survey(line).parallel.quality.closures
    assert {one.label.setup for one in found if one.checked} == {"A"}
    assert all(abs(one.difference) < 1.0 for one in found)


def test_level_readings_of_one_slope_are_compared_where_they_bear_the_same_errors() -> None:
    """R2 twice at one place: 0.03 mm/m apart, with √2 times 0.010 of each. R1 read once has none.

    A reading turned round carries the error of the level's own zero the other way, and is not compared.
    """
    taken = (tilt("R1", 0.0), tilt("R2", 0.10), tilt("R2", 0.13), tilt("R2", 0.12, turned=True))
    (closure,) = solve_survey(survey((roll("R1"), roll("R2")), level=levelled(*taken))).level.quality.closures
    assert (closure.label.roll, closure.first.roll) == ("R2", "R2")
    assert closure.difference == pytest.approx(0.03, rel=1e-9)
    assert closure.u == pytest.approx(np.sqrt(2.0) * 0.010, rel=1e-9)
