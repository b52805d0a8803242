"""A failed proof: the rolls that it puts in doubt, the moves that wait, the readings that nothing checks."""

from dataclasses import replace

import pytest

from certgen.assessment.assess import assess
from certgen.assessment.assessment import AdjacentResult, Assessment
from certgen.assessment.doubt import seatings
from certgen.moves.plan import plan_of
from certgen.network.equations import Label
from certgen.network.solution import solve_survey
from certgen.results.move_results import all_moves
from certgen.results.survey_results import recorded_doubt, survey_results
from certgen.survey.survey import Limit, Survey
from tests.simulate.records import levelled, read, roll, setup, survey, tilt

MONUMENTS = {"M1": -1000.0, "M2": 9000.0, "M3": 19000.0}
SPAN_M = 2.1


def eighteen(lost: bool = True) -> Survey:
    """Return eighteen rolls read from two settings; R9 leans by 0.3 mm/m and B lost the sign of that."""
    names = [f"R{number}" for number in range(1, 19)]
    lean = {"R9": 0.3 * SPAN_M, "R4": 0.12 * SPAN_M}
    first = [read(name, 0.0, lean.get(name, 0.0)) for name in names[:12]]
    wrong = {"R9": -lean["R9"]} if lost else {}
    second = [read(name, 0.0, (lean | wrong).get(name, 0.0)) for name in names[6:] + names[:1]]
    second.append(read("R9", 0.0, lean["R9"]))
    ties = dict.fromkeys(MONUMENTS, 0.0)
    rolls = tuple(roll(name, 1000.0 * place) for place, name in enumerate(names))
    return survey(rolls, (setup("A", ties, *first), setup("B", ties, *second)), MONUMENTS)


def assessed(taken: Survey) -> Assessment:
    """Return the survey assessed."""
    return assess(solve_survey(taken))


def test_lost_sign_holds_back_the_move_of_its_roll_and_no_other() -> None:
    """One sign among eighteen rolls: no order for R9, while R4 is to be moved as before."""
    found = {plan.roll.id: plan.parallel for plan in plan_of(assessed(eighteen())).rolls}
    held = found["R9"]
    assert held.needed
    doubts = assessed(eighteen()).doubts["parallel"]
    assert (doubts.any, doubts.too_large) == (True, None)
    assert (held.steps, held.alternatives, held.move.stop_reading_mm) == ((), (), None)
    assert [(one.setup, one.roll, one.side) for one in held.hold.readings] == [
        ("B", "R9", "operator"),
        ("B", "R9", "drive"),
    ]
    assert found["R4"].hold is None
    assert found["R4"].steps
    assert [name for name, plan in found.items() if plan is not None and plan.hold] == ["R9"]


@pytest.mark.parametrize(("share", "doubted"), [(0.24, False), (0.26, True), (-0.24, False), (-0.26, True)])
def test_result_is_in_doubt_from_a_quarter_of_its_expanded_uncertainty_on(
    share: float, doubted: bool
) -> None:
    """A candidate that would shift R4 by that share of its U, and R5 by nothing."""
    found = assessed(eighteen())
    doubts, state = found.doubts["parallel"], found.rolls[3].parallel.as_found
    one = replace(doubts.every[0], shifts={("R4", "as_found"): share * state.U_mm_per_m})
    by_it = replace(doubts, every=(one,))
    assert bool(by_it.on_roll("R4", "as_found", state)) is doubted
    assert bool(by_it.on_pair(("R4", "R5"), "as_found", state)) is doubted
    assert bool(by_it.on_roll("R4", "as_left", state)) is doubted  # not read as left: as it was found
    assert by_it.on_roll("R5", "as_found", state) == ()


def test_sound_readings_hold_back_nothing() -> None:
    """The same survey without the blunder."""
    found = assessed(eighteen(lost=False))
    assert not any(plan.parallel.hold for plan in plan_of(found).rolls if plan.parallel)
    assert not found.doubts["parallel"].any


def test_results_name_the_readings_in_doubt() -> None:
    """`rolls[].parallel.doubt` lists them in the form of the suspects; `moves` says that it waits."""
    found = survey_results(assessed(eighteen()))
    by_id = {one["id"]: one for one in found["rolls"]}
    doubt = [
        {"setup": "B", "roll": "R9", "side": s, "round": "as_found", "where": "as_found.R9"}
        for s in ("operator", "drive")
    ]
    assert by_id["R9"]["parallel"]["doubt"] == doubt
    assert by_id["R4"]["parallel"]["doubt"] == []
    assert [by_id[name]["parallel"]["as_found"]["in_doubt"] for name in ("R4", "R9")] == [False, True]
    assert recorded_doubt(found, "parallel") == {("R9", "as_found")}
    move = by_id["R9"]["moves"]["parallel"]
    assert (move["held"], move["steps"], move["stop_reading_mm"]) == (True, [], None)
    assert move["read_again"] == doubt
    assert by_id["R4"]["moves"]["parallel"]["held"] is False


def test_moves_for_machines_name_what_waits() -> None:
    """`certgen moves --json` carries the same."""
    found = {one["id"]: one["moves"]["parallel"] for one in all_moves(assessed(eighteen()))["move"]}
    assert {name: move["held"] for name, move in found.items()} == {"R4": False, "R9": True}


def test_contradictory_readings_that_average_to_a_pass_are_in_doubt() -> None:
    """A decimal slip and the right reading: the mean passes, and its result bears both readings."""
    ties = dict.fromkeys(MONUMENTS, 0.0)
    taken = (read("R1", 0.0, 0.0), read("R2", 0.0, 0.04), read("R2", 0.0, -0.4), read("R3", 0.0, 0.0))
    line = survey((roll("R1"), roll("R2"), roll("R3")), (setup("A", ties, *taken),), MONUMENTS)
    wide = tuple(
        replace(one, parallel_limit=replace(one.parallel_limit, slope_mm_per_m=0.12)) for one in line.rolls
    )
    found = assessed(replace(line, rolls=wide))
    assert found.rolls[1].parallel.verdict("as_found") == "pass"
    doubt = found.doubts["parallel"].on_roll("R2", "as_found", found.rolls[1].parallel.as_found)
    assert len(doubt) == 2
    assert found.doubts["parallel"].on_roll("R3", "as_found", found.rolls[2].parallel.as_found) == ()


def scattered(*shift: float, count: int = 7) -> Assessment:
    """Return rolls read three times each, with more scatter than stated but no reading that stands out."""
    parts = (0.0, 0.045, -0.045)
    names = [f"R{number}" for number in range(1, count + 1)]
    lean = dict(zip(names[1:], shift, strict=False))
    taken = [
        read(name, 0.0, lean.get(name, 0.0) * SPAN_M + parts[(place + again) % 3])
        for again in range(3)
        for place, name in enumerate(names)
    ]
    rolls = tuple(roll(name, parallel_limit=Limit(0.03, "0.03 mm/m")) for name in names)
    return assessed(survey(rolls, (setup("A", {}, *taken),)))


def test_residuals_too_large_without_a_suspect_hold_what_is_not_sure_of_its_direction() -> None:
    """Times the scatter found, U is larger than the error of R2 and smaller than that of R3."""
    found = scattered(0.033, 0.3)
    doubts = found.doubts["parallel"]
    assert found.solution.parallel.quality.suspects == ()
    assert doubts.too_large > 2.0
    assert doubts.any
    held = {plan.roll.id: plan.parallel.hold for plan in plan_of(found).rolls[1:3]}
    state = found.rolls[1].parallel.as_found
    assert state.U_mm_per_m < abs(state.error_mm_per_m) < doubts.too_large * state.U_mm_per_m
    assert state.verdict == "fail"
    assert held["R2"].readings == ()
    assert held["R3"] is None
    # in doubt as a whole: every result, but neither the reference nor what was not measured
    assert [doubts.casts(one.id, "as_found", one.parallel.as_found) for one in found.rolls] == [
        False,
        *[True] * 6,
    ]
    assert not doubts.casts("R2", "as_left", None)


def test_reading_taken_once_is_to_be_read_once_more_before_a_large_move() -> None:
    """Two rolls read once: the far one is to be moved by more than a quarter of its tolerance, R3 is not."""
    once = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.5), read("R3", 0.0, 0.02))
    found = assessed(survey((roll("R1"), roll("R2"), roll("R3")), (once,)))
    _, second, third = plan_of(found).rolls
    assert [label.side for label in second.parallel.unchecked] == ["operator", "drive"]
    assert third.parallel.unchecked == ()
    network = survey_results(found)["network"]["parallel"]
    assert (network["readings"], network["checked"], len(network["unchecked"])) == (6, 0, 6)
    assert all_moves(found)["move"][0]["moves"]["parallel"]["unchecked"] == [
        {"setup": "A", "roll": "R2", "side": side, "round": "as_found", "where": "as_found.R2"}
        for side in ("operator", "drive")
    ]


@pytest.mark.parametrize(("share", "again"), [(0.24, 0), (0.26, 2), (-0.26, 2)])
def test_reading_is_taken_once_more_from_a_quarter_of_the_tolerance_on(share: float, again: int) -> None:
    """R2 stands off by that share of its tolerance, 0.05 mm/m, and both its ends were read once."""
    once = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, share * 0.05 * SPAN_M))
    found = assessed(survey((roll("R1"), roll("R2")), (once,)))
    state = found.rolls[1].parallel.as_found
    assert len(found.doubts["parallel"].read_once_more("R2", "as_found", state)) == again


def test_setup_that_turned_is_to_be_read_again_as_a_whole() -> None:
    """Four rolls that cannot move, all off as left by one angle: the setup stands for its readings."""
    names = [f"R{number}" for number in range(1, 5)]
    taken = [read(name, 0.0, 0.0) for name in names]
    taken += [read(name, -0.06, -0.48, "as_left") for name in names]
    rolls = tuple(roll(name, adjustable="none") for name in names)
    seen = setup("A", dict.fromkeys(MONUMENTS, 0.0), *taken)
    first = assessed(survey(rolls, (seen,), MONUMENTS)).doubts["parallel"].every[0]
    assert (first.candidate.kind, first.cause, first.first) == ("setup moved", "setup", True)
    assert first.readings == (Label("roll", "A", round="as_left"),)


def test_level_has_doubts_of_its_own() -> None:
    """A level reading turned over among four holds the level move of its roll, in the unit of slopes."""
    taken = [tilt("R1", 0.3) for _ in range(4)]
    taken[1] = replace(taken[1], slope_mm_per_m=-0.3)
    found = assessed(survey((roll("R1"),), level=levelled(*taken)))
    hold = plan_of(found).rolls[0].level.hold
    assert [(label.roll, label.side) for label in hold.readings] == [("R1", "direct")]
    (suspect,) = survey_results(found)["network"]["level"]["suspects"]
    assert suspect["candidates"][0]["blunder_mm_per_m"] == pytest.approx(-0.6)
    assert suspect["candidates"][0]["cause"] == "sign"


def test_first_edition_knew_no_doubt() -> None:
    """What an archived certificate orders stays as it was."""
    found = assessed(replace(eighteen(), edition=1))
    assert not found.doubts["parallel"].any
    assert all(plan.parallel.steps for plan in plan_of(found).rolls if plan.parallel and plan.parallel.needed)


def test_difference_of_neighbours_is_in_doubt_by_its_own_shift() -> None:
    """R9 against R8 and R10 against R9 hang on the sign that was lost; R5 against R4 does not."""
    taken = eighteen()
    rolls = tuple(replace(one, adjacent_limit=one.parallel_limit) for one in taken.rolls)
    found = survey_results(assessed(replace(taken, rolls=rolls)))["adjacent"]
    doubted = {(one["from"], one["to"]) for one in found if one["parallel"]["as_found"]["in_doubt"]}
    assert doubted == {("R8", "R9"), ("R9", "R10")}


def test_both_ends_of_a_seating_are_named_as_one() -> None:
    """Without a side; a reading of one end alone keeps its side."""

    def label(name: str, side: str) -> Label:
        return Label("roll", "A", name, None, side, "as_found")

    both = [label("R2", "operator"), label("R3", "drive"), label("R2", "drive")]
    assert [(one.roll, one.side) for one in seatings(both)] == [("R2", None), ("R3", "drive")]


@pytest.mark.parametrize(("share", "asked"), [(0.24, False), (0.25, False), (0.26, True), (-0.26, True)])
def test_reading_that_nothing_checks_is_asked_for_again_beyond_a_quarter_of_the_limit(
    share: float, asked: bool
) -> None:
    """Below it no move comes of it; the bound itself is common practice of our own, no source."""
    found = assessed(eighteen(lost=False))
    doubts = found.doubts["parallel"]
    label = next(label for label in doubts.aspect.quality.unchecked if label.roll is not None)
    roll_of = next(one for one in found.rolls if one.id == label.roll)
    state = roll_of.parallel.as_found
    assert state is not None
    assert label.round == "as_found"
    state = replace(state, error_mm_per_m=share * state.limit_mm_per_m)
    assert bool(doubts.read_once_more(roll_of.id, "as_found", state)) is asked


@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize(("share", "doubtful"), [(0.24, False), (0.26, True)])
def test_result_is_in_doubt_where_a_candidate_shifts_it_by_a_quarter_of_its_u(
    share: float, doubtful: bool, sign: float
) -> None:
    """Of one roll; of two neighbours what counts is the difference of both shifts."""
    found = assessed(eighteen())
    doubts = found.doubts["parallel"]
    one = replace(doubts.every[0], shifts={("R9", "as_found"): 0.1 * sign, ("R8", "as_found"): -0.1 * sign})
    doubts = replace(doubts, every=(one,), too_large=None)
    state = next(roll for roll in found.rolls if roll.id == "R9").parallel.as_found
    assert state is not None
    by_roll, by_pair = (replace(state, U_mm_per_m=shift / share) for shift in (0.1, 0.2))
    assert bool(doubts.on_roll("R9", "as_found", by_roll)) is doubtful
    assert bool(doubts.on_pair(("R8", "R9"), "as_found", by_pair)) is doubtful
    assert doubts.on_roll("R9", "as_found", None) == ()


def test_difference_that_was_not_measured_is_in_no_doubt() -> None:
    """However much the readings scatter as a whole: there is nothing to doubt."""
    doubts = replace(assessed(eighteen()).doubts["parallel"], too_large=3.0)
    pair = AdjacentResult("R1", "R2", {}, {}, judged=("parallel",))
    assert not doubts.casts_on_pair(pair, "as_left")
    assert not doubts.casts("R1", "as_left", None)
