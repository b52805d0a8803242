"""The moves as data: names of the contract, the crew's signs, null where nothing is limited or to be had."""

import json
from dataclasses import replace

import pytest

from certgen.assessment.assess import assess
from certgen.network.solution import solve_survey
from certgen.results.move_results import all_moves
from certgen.results.survey_results import survey_results
from certgen.survey.survey import BearingTravel, Positive, ShimStock, Survey, Travel
from tests.assessment.test_plan import both_ways

TRAVEL = Travel(operator=BearingTravel(up_mm=0.2, upstream_mm=1.5))
FIXED = BearingTravel(0.0, 0.0, 0.0, 0.0)
STOCK = ShimStock((0.05, 0.1, 0.2, 0.5), 3)


def moves(taken: Survey) -> dict:
    """Return the moves of R2, through JSON and back."""
    return json.loads(json.dumps(survey_results(assess(solve_survey(taken))), allow_nan=False))["rolls"][1][
        "moves"
    ]


def test_moves_keep_the_names_of_the_contract() -> None:
    """Side, amount, stop reading, split, shims; steps, travel, alternatives and prediction beside them."""
    found = moves(replace(both_ways(Travel(), 0.1, 0.2), shims=STOCK))
    shared = {"side", "split", "from", "needed", "beyond_travel", "travel"}
    shared |= {"steps", "alternatives", "predicted", "can_pass"}
    shared |= {"held", "read_again", "unchecked"}
    assert found["parallel"].keys() == shared | {"downstream_mm", "stop_reading_mm"}
    assert found["level"].keys() == shared | {"up_mm", "shims"}
    assert found["level"]["shims"].keys() == {"pieces_mm", "total_mm", "residual_mm"}
    assert {"slope_mm_per_m", "error_mm_per_m", "U_mm_per_m", "verdict"} <= found["level"]["predicted"].keys()


def test_steps_say_what_to_watch() -> None:
    """The laser's target for parallel, the level for level."""
    found = moves(replace(both_ways(Travel(), 0.1, 0.2), shims=STOCK))
    readings = {"start_reading_mm", "stop_reading_mm", "reading_after_mm"}
    assert found["parallel"]["steps"][0].keys() == {"side", "downstream_mm"} | readings
    (step,) = found["level"]["steps"]
    heights = {"start_height_mm", "stop_height_mm", "height_after_mm"}
    assert step.keys() == {"side", "up_mm", "stop_level", "shims", "with_shims"} | heights
    assert step["with_shims"].keys() == {"stop_level", "stop_height_mm", "height_after_mm"}
    assert step["stop_level"].keys() == {"at_mm", "slope_mm_per_m", "divisions"}
    assert step["stop_height_mm"] is None


def test_stop_level_with_shims_is_that_of_the_predicted_slope() -> None:
    """A pack that falls short of the move: what it shows on the level agrees with the prediction."""
    found = moves(replace(both_ways(Travel(), 0.1, 0.2), shims=ShimStock((0.25,), 1)))["level"]
    (step,) = found["steps"]
    left = 0.1 - step["shims"]["total_mm"] / 2.7
    assert step["with_shims"]["stop_level"]["slope_mm_per_m"] == pytest.approx(left, abs=1e-9)
    assert step["stop_level"]["slope_mm_per_m"] == pytest.approx(0.0, abs=1e-9)
    assert found["predicted"]["slope_mm_per_m"] == pytest.approx(left, abs=1e-9)


def test_travel_without_a_limit_is_null() -> None:
    """What was stated, and null beside it."""
    found = moves(both_ways(TRAVEL, 0.1, 0.2))
    assert found["level"]["travel"] == {
        "limited": True,
        "operator": {"up_mm": 0.2, "down_mm": None},
        "drive": {"up_mm": None, "down_mm": None},
    }
    assert found["parallel"]["travel"]["operator"] == {"downstream_mm": None, "upstream_mm": 1.5}
    assert [step["side"] for step in found["level"]["steps"]] == ["operator", "drive"]


def test_stop_reading_is_that_of_the_step_that_travel_allows() -> None:
    """0.54 mm wanted, 0.2 mm of travel: the laser is stopped at where the bearing gets, not in its stop.

    Targets at 300 and 2400 mm of 2700: the drive side reads 0.42 with the operator side zeroed, and 0.2 mm
    at the drive bearing take 0.2 · 2400 / 2700 of it. By the first edition it was that of the whole move.
    """
    short = both_ways(Travel(drive=BearingTravel(upstream_mm=0.2), operator=FIXED), -0.1, 0.2)
    found = moves(short)["parallel"]
    assert (found["side"], found["downstream_mm"]) == ("drive", pytest.approx(-0.54))
    assert found["beyond_travel"] is True
    assert found["stop_reading_mm"] == found["steps"][0]["stop_reading_mm"]
    assert found["stop_reading_mm"] == pytest.approx(0.42 - 0.2 * 2400.0 / 2700.0)
    first = moves(replace(short, edition=1))["parallel"]
    assert first["stop_reading_mm"] == pytest.approx(0.42 - 0.54 * 2400.0 / 2700.0)
    assert first["steps"] == found["steps"]


def test_move_without_a_step_has_no_stop_reading() -> None:
    """No travel at all, so there is nothing to stop at."""
    none = both_ways(Travel(drive=FIXED, operator=FIXED), -0.1, 0.2)
    found = moves(none)["parallel"]
    assert (found["stop_reading_mm"], found["steps"], found["beyond_travel"]) == (None, [], True)


def test_alternatives_say_whether_they_fit() -> None:
    """Half at each bearing fits into the travel, all at one does not."""
    ways = {one["way"]: one for one in moves(both_ways(TRAVEL, 0.1, 0.2))["level"]["alternatives"]}
    assert {way: one["fits_travel"] for way, one in ways.items()} == {
        "one_bearing": False,
        "raise_only": False,
        "split": True,
    }
    assert ways["split"]["moves"].keys() == {"operator_mm", "drive_mm"}


@pytest.mark.parametrize(("way", "sign"), [("downstream", 1.0), ("upstream", -1.0)])
def test_laser_set_anew_has_the_reading_of_the_roll_that_stays(way: str, sign: float) -> None:
    """The reference, 0.3 mm more at the drive side, in the sign of the survey, targets 2100 mm apart."""
    taken = replace(both_ways(Travel(), 0.1, 0.2), positive=Positive(roll=way))
    (seen,) = taken.setups
    first, second = seen.readings
    turned = replace(seen, readings=(replace(first, drive_mm=first.drive_mm + 0.3), second))
    (found,) = all_moves(assess(solve_survey(replace(taken, setups=(turned,)))))["set_anew"]
    assert (found["setup"], found["roll"], found["targets_apart_mm"]) == ("A", "R1", 2100.0)
    assert found["shown_mm"] == {
        "operator_zeroed": pytest.approx(0.3 * sign),
        "drive_zeroed": pytest.approx(-0.3 * sign),
    }
    alone = replace(taken, rolls=(replace(taken.rolls[0], targets_mm=None), taken.rolls[1]))
    (none,) = all_moves(assess(solve_survey(alone)))["set_anew"]
    assert none == {"setup": "A", "roll": None, "shown_mm": None, "targets_apart_mm": None}


def test_stop_readings_of_steps_are_in_the_sign_of_the_survey() -> None:
    """The crew's sign turns, the direction of the move does not."""
    plain = both_ways(Travel(), 0.1, 0.2)
    turned = replace(plain, positive=Positive(roll="upstream"))
    (a,), (b,) = (moves(taken)["parallel"]["steps"] for taken in (plain, turned))
    for key in ("start_reading_mm", "stop_reading_mm"):
        assert a[key] == -b[key] != 0.0
    assert a["downstream_mm"] == b["downstream_mm"]
    assert (a["stop_reading_mm"] - a["start_reading_mm"]) * a["downstream_mm"] > 0.0
    assert (b["stop_reading_mm"] - b["start_reading_mm"]) * b["downstream_mm"] < 0.0


def test_reading_of_a_target_zeroed_again_is_that_of_the_slope_aimed_at() -> None:
    """The laser turned by what the reference reads, 0.3 mm over 2100 mm: on target, R2 reads as much.

    From the side that is zeroed; before, it read 0.42 mm beside that.
    """
    taken = both_ways(Travel(), 0.1, 0.2)
    (seen,) = taken.setups
    turned = tuple(replace(one, drive_mm=one.drive_mm + 0.3) for one in seen.readings)
    (step,) = moves(replace(taken, setups=(replace(seen, readings=turned),)))["parallel"]["steps"]
    sign = 1.0 if step["side"] == "drive" else -1.0
    assert step["start_reading_mm"] == pytest.approx(sign * (0.3 + 0.42))
    assert step["reading_after_mm"] == pytest.approx(sign * 0.3)
