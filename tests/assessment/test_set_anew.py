"""The laser set up anew, in exact geometry: the reading stopped at after the correction is that on target."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from certgen.assessment.assess import assess
from certgen.assessment.assessment import Assessment
from certgen.moves.after_moves import Witness, witness
from certgen.moves.plan import plan_of
from certgen.moves.steps import Step, other
from certgen.network.solution import solve_survey
from certgen.survey.survey import Reference, RollReading, Side, Survey
from tests.assessment.test_moves import DOWNSTREAM, ROD
from tests.assessment.test_plan import after, at, start
from tests.simulate.lines import TrueLine, draw
from tests.simulate.records import read, roll, setup, survey
from tests.simulate.scene import Laser, TrueRoll, Vector

# what is left out beyond first order in slopes and headings of up to 1 mm/m, over 2 m
WITHIN_MM = 1e-5
PLACES: tuple[tuple[float, float], ...] = ((300.0, 2400.0), (500.0, 1900.0), (-100.0, 2500.0))


def line_of(seed: int) -> tuple[TrueLine, Assessment]:
    """Return an invented line, targets at three distances; R1 and R6 cannot be moved, others at one side."""
    rng = np.random.default_rng(seed)
    line = draw(rng, Reference("R1"))
    line = replace(line, rolls=tuple(placed(one, i) for i, one in enumerate(line.rolls)))
    return line, assess(solve_survey(line.survey(rng)))


def placed(one: TrueRoll, place: int) -> TrueRoll:
    """Return the roll with targets and bearings to move of its own; one without stays where it was found."""
    kind = "none" if place in (0, 5) else ("operator", "drive")[place % 2]
    parallel = dict.fromkeys(one.parallel, one.parallel["as_found"]) if kind == "none" else one.parallel
    record = replace(one.record, targets_mm=PLACES[place % 3], adjustable=kind)
    return replace(one, record=record, parallel=parallel)


def read_across(one: TrueRoll, laser: Laser, zeroed: Side) -> float:
    """Return what a roll as left shows at one end, the other zeroed."""
    across, _ = laser.planes()
    operator, drive = (
        float((one.axis("as_left", y) + ROD - laser.at) @ across) for y in one.record.targets_mm
    )
    return drive - operator if zeroed == "operator" else operator - drive


def stopped(one: TrueRoll, ends: tuple[Vector, Vector], laser: Laser, side: Side) -> float:
    """Return what the laser shows at the end of the moved bearing, the other having been zeroed before."""
    across, _ = laser.planes()
    near, far = one.record.targets_mm if side == "drive" else one.record.targets_mm[::-1]
    return float((at(one, ends, far) - at(one, start(one, "as_left"), near)) @ across)


def test_stop_reading_plus_todays_less_the_surveys_leads_to_the_target() -> None:
    """From either side, to rolls whose targets stand as far apart and not, a laser anywhere."""
    tried = {
        (step.side, round(ratio, 3)) for seed in range(4) for step, ratio in set_anew(*line_of(seed), seed)
    }
    assert {side for side, _ in tried} == {"operator", "drive"}
    assert {ratio for _, ratio in tried} == {0.538, 0.667, 0.808, 1.0}


def set_anew(line: TrueLine, found: Assessment, seed: int) -> Iterator[tuple[Step, float]]:
    """Do every step by lasers set up anew, as the sheet says; yield the steps and ratios of distances."""
    rng = np.random.default_rng(100 + seed)
    for laser in line.lasers:
        anew = replace(laser, heading=1e-3 * rng.uniform(-1.0, 1.0), at=rng.uniform(-2000.0, 2000.0, 3))
        staying = witness(found, laser.name)
        stays = next(one for one in line.rolls if one.record.id == staying.roll.id)
        seen = (
            (one, plan) for one, plan in zip(line.rolls, plan_of(found).rolls, strict=True) if plan.to_move
        )
        for one, plan in ((one, plan) for one, plan in seen if plan.setup == laser.name):
            for step, stop in plan.parallel.steps if plan.parallel.needed else ():
                zeroed, ratio = other(step.side), staying.factor(plan.roll)
                change = read_across(stays, anew, zeroed) - staying.shown_mm[zeroed]
                on_target = after(start(one, "as_left"), step, DOWNSTREAM)
                shown = stopped(one, on_target, anew, step.side)
                assert stop.target_mm + ratio * change == pytest.approx(shown, abs=WITHIN_MM)
                yield step, ratio


def test_survey_reading_of_the_roll_that_stays_is_what_its_laser_showed() -> None:
    """Zeroed on either side, which turns the sign."""
    line, found = line_of(1)
    staying = witness(found, "A")
    assert staying.roll.id == "R1"
    for side in ("operator", "drive"):
        exact = read_across(line.rolls[0], line.lasers[0], side)
        assert staying.shown_mm[side] == pytest.approx(exact, abs=WITHIN_MM)


def seen_by(*readings: RollReading, **rolls: str) -> Survey:
    """Return a survey whose reference another setup saw; `rolls` are how each is adjustable."""
    lined = (roll("R0"), *(roll(name, adjustable=kind) for name, kind in rolls.items()))
    monuments = {"M1": 0.0, "M2": 0.0}
    other_setup = setup("Z", monuments, read("R0", 0.0, 0.0))
    return survey(lined, (other_setup, setup("A", monuments, *readings)), {"M1": -900.0, "M2": 900.0})


def chosen(taken: Survey) -> Witness | None:
    """Return the roll to measure for setup A."""
    found = assess(solve_survey(taken))
    return witness(found, "A")


def test_roll_that_cannot_be_moved_comes_before_one_that_need_not_be() -> None:
    """Where the reference was seen from elsewhere."""
    all_true = [read(name, 0.0, 0.0) for name in ("R1", "R2", "R3")]
    assert chosen(seen_by(*all_true, R1="drive", R2="none", R3="both")).roll.id == "R2"
    assert chosen(seen_by(*all_true, R1="drive", R2="both", R3="both")).roll.id == "R1"


def test_roll_that_is_to_be_moved_tells_nothing() -> None:
    """Nor does one whose reading was set aside, or one that another setup saw."""
    off, aside = read("R1", 0.0, 0.9), replace(read("R2", 0.0, 0.0), exclude="slipped")
    assert chosen(seen_by(off, R1="drive")) is None
    again = seen_by(off, aside, read("R2", 0.0, 0.0, "as_left"), R1="drive", R2="none")
    assert chosen(again).roll.id == "R2"
    elsewhere = replace(again, setups=(again.setups[0], replace(again.setups[1], readings=(off, aside))))
    assert chosen(replace(elsewhere, rolls=elsewhere.rolls[:2])) is None


def test_roll_in_doubt_comes_last() -> None:
    """R1 cannot be moved, but one of its two readings is wrong; R2, which need not be moved, agrees."""
    twice = [read(name, 0.0, 0.0) for name in ("R1", "R2") for _ in range(2)]
    wrong = [replace(twice[0], drive_mm=0.2), *twice[1:]]
    assert chosen(seen_by(*twice, R1="none", R2="drive")).roll.id == "R1"
    assert chosen(seen_by(*wrong, R1="none", R2="drive")).roll.id == "R2"
