"""The results as data: the names of the contract, plain values, and the signs a crew sees."""

import json
from dataclasses import replace

import numpy as np
import pytest

from certgen.assessment.assess import assess
from certgen.network.solution import solve_survey
from certgen.results.survey_results import survey_results
from certgen.survey.survey import Positive, Reference, Survey
from tests.simulate.lines import draw
from tests.simulate.noise import noisy
from tests.simulate.records import LIMIT, levelled, read, roll, setup, survey, tilt

STATE = {
    "slope_mm_per_m",
    "target_mm_per_m",
    "u_mm_per_m",
    "U_mm_per_m",
    "limit_mm_per_m",
    "over_bearings_mm",
}
STATE |= {"conformance_probability", "verdict"}


def whole() -> Survey:
    """Return a noisy survey of an invented line with limits between neighbours."""
    rng = np.random.default_rng(1)
    taken = noisy(rng, draw(rng, Reference("R1")).survey(rng))
    return replace(taken, rolls=tuple(replace(one, adjacent_limit=LIMIT) for one in taken.rolls))


def of(taken: Survey) -> dict:
    """Return the results of a survey, through JSON and back."""
    return json.loads(json.dumps(survey_results(assess(solve_survey(taken))), allow_nan=False))


@pytest.fixture(name="found", scope="module")
def _found() -> dict:
    return of(whole())


def test_results_have_the_names_of_the_contract(found):
    """The top level, the networks and the overall verdicts."""
    top = {
        "format",
        "survey_sha256",
        "certificate",
        "reference",
        "decision",
        "network",
        "rolls",
        "adjacent",
        "overall",
    }
    assert top <= found.keys()
    assert (found["format"], found["reference"], found["decision"]) == ("certgen-results/1", "R1", "guarded")
    for network in found["network"].values():
        assert {
            "observations",
            "unknowns",
            "dof",
            "chi_square",
            "p_value",
            "suspects",
            "closures",
        } <= network.keys()
    assert {"as_found", "as_left"} <= found["overall"].keys()


def test_results_of_a_roll_have_the_names_of_the_contract(found):
    """Both aspects in both rounds, the change and the moves."""
    one = found["rolls"][1]
    assert {"id", "parallel", "level", "moves"} <= one.keys()
    for aspect in (one["parallel"], one["level"]):
        assert aspect["as_found"].keys() >= STATE
        assert STATE | {"adjusted"} <= aspect["as_left"].keys()
        assert {"slope_mm_per_m", "u_mm_per_m"} <= aspect["change"].keys()
    assert {"side", "downstream_mm", "stop_reading_mm"} <= one["moves"]["parallel"].keys()
    assert {"side", "up_mm"} <= one["moves"]["level"].keys()


def test_results_of_neighbours_have_the_names_of_the_contract(found):
    """From, to, and both aspects in both rounds."""
    assert [(pair["from"], pair["to"]) for pair in found["adjacent"][:2]] == [("R1", "R2"), ("R2", "R3")]
    assert found["adjacent"][0]["parallel"]["as_found"].keys() >= STATE
    assert found["adjacent"][0]["level"]["as_left"].keys() >= STATE


def test_results_hold_the_numbers_of_the_solution(found):
    """Unrounded: what the network gave is what is written."""
    slopes = solve_survey(whole()).parallel.slopes
    for one in found["rolls"]:
        state = one["parallel"]["as_found"]
        assert state["slope_mm_per_m"] == slopes[one["id"], "as_found"].value
        assert state["u_mm_per_m"] == slopes[one["id"], "as_found"].u


def test_suspects_have_the_names_of_the_contract():
    """A reading is named by setup, roll or monument, side and round."""
    taken = whole()
    first, *others = taken.setups
    wrong = replace(first.readings[0], drive_mm=first.readings[0].drive_mm + 1.0)
    odd = replace(first, readings=(wrong, *first.readings[1:]))
    suspects = of(replace(taken, setups=(odd, *others)))["network"]["parallel"]["suspects"]
    assert {"setup", "roll", "side", "round", "w"} <= suspects[0].keys()
    assert (suspects[0]["setup"], suspects[0]["roll"]) == ("A", "R1")


def lone() -> Survey:
    """Return R1 and R2 read once each for parallel, R1 alone for level, R3 not at all."""
    seen = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.3))
    return survey((roll("R1"), roll("R2"), roll("R3")), (seen,), level=levelled(tilt("R1", 0.0)))


def test_not_measured_stands_as_nulls_with_its_verdict():
    """Every number is null, and the roll is listed."""
    found = of(lone())
    state = found["rolls"][2]["parallel"]["as_left"]
    assert state["verdict"] == "not measured"
    assert {state[name] for name in STATE - {"verdict"}} == {None}
    assert found["rolls"][2]["moves"] == {"parallel": None, "level": None}
    unread = [(each["roll"], each["aspect"]) for each in found["overall"]["not_measured"]]
    assert unread == [("R2", "level"), ("R3", "level"), ("R3", "parallel")]


def test_network_without_redundancy_has_no_p_value():
    """Nothing is left to test: null, and JSON without nan."""
    network = of(lone())["network"]["parallel"]
    assert (network["dof"], network["p_value"], network["suspects"]) == (0, None, [])


def test_aspect_that_was_not_surveyed_is_null():
    """No level readings, no level network."""
    assert of(replace(lone(), level=None))["network"]["level"] is None


def test_stop_reading_is_in_the_sign_of_the_survey():
    """Where a positive reading means upstream, the crew sees the other sign; the move stays downstream."""
    plain, turned = (of(replace(lone(), positive=Positive(roll=way))) for way in ("downstream", "upstream"))
    plain, turned = (found["rolls"][1]["moves"]["parallel"] for found in (plain, turned))
    assert turned["stop_reading_mm"] == -plain["stop_reading_mm"] != 0.0
    assert turned["downstream_mm"] == plain["downstream_mm"] == pytest.approx(-0.3 / 2.1 * 2.7)


def test_reference_line_is_listed_by_its_monuments():
    """A list of names, where a roll would be one name."""
    seen = setup("A", {"M1": 0.0, "M2": 0.0}, read("R1", 0.0, 0.0))
    line = survey((roll("R1"),), (seen,), {"M1": 0.0, "M2": 5000.0}, reference=Reference(None, ("M1", "M2")))
    assert of(line)["reference"] == ["M1", "M2"]


def test_results_are_the_same_twice():
    """The same survey gives the same text."""
    assert json.dumps(of(whole())) == json.dumps(of(whole()))
