"""The reference study: candidates with their costs, uncertainties of differences, targets, travel."""

import json
from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest

from certgen.assessment.assess import assess
from certgen.errors import CannotCompute
from certgen.moves.plan import plan_of
from certgen.network.solution import solve_survey
from certgen.reference_study.study import Candidate, Study, study
from certgen.results.report_results import study_results
from certgen.survey.edition import EDITION, FIRST
from certgen.survey.survey import (
    BearingGrowth,
    BearingTravel,
    Coverage,
    Growth,
    Limit,
    Reference,
    Roll,
    Setup,
    Survey,
    Travel,
)
from tests.certificate.samples import sample
from tests.simulate.lines import draw
from tests.simulate.noise import noisy
from tests.simulate.records import levelled, read, roll, setup, survey, tilt

SAMPLES = ("tutorial", "winder_inch", "winder_inch_next_year", "coater_mm", "dryer_mixed", "unwind_wide")
# targets are 2.1 m apart
AT = {"R1": 0.0, "R2": 0.2, "R3": 0.2, "R4": -0.3}


def line(slopes: Mapping[str, float] = AT, **changes: object) -> Survey:
    """Return rolls that stand at these slopes (mm/m), read once; R1 is the reference and cannot be moved."""
    rolls = tuple(roll(name, adjustable="none" if name == "R1" else "drive") for name in slopes)
    seen = setup("A", {}, *(read(name, 0.0, 2.1 * slope) for name, slope in slopes.items()))
    return replace(survey(rolls, (seen,), decision="simple"), **changes)


def of(taken: Survey, which: str = "as_found") -> Study:
    """Return the study of a survey."""
    return study(solve_survey(taken), which)  # type: ignore[arg-type]


def named(found: Study, name: str | None, kind: str = "roll") -> Candidate:
    """Return one candidate."""
    return next(one for one in found.candidates if (one.kind, one.id) == (kind, name))


def as_found(whole: Setup) -> Setup:
    """Return a setup with its readings as found only."""
    return replace(whole, readings=tuple(each for each in whole.readings if each.round == "as_found"))


def test_every_roll_and_the_free_direction_are_candidates() -> None:
    """A reference that is a roll leaves no offset line to go back to."""
    found = of(line())
    assert {(one.kind, one.id) for one in found.candidates} == {
        ("free", None),
        *(("roll", name) for name in AT),
    }
    assert (found.present.id, found.present.direction_mm_per_m) == ("R1", 0.0)


def test_cost_of_the_present_reference_is_what_the_certificate_says() -> None:
    """Rolls outside are those that fail; moves are those of the certificate."""
    taken = line()
    assessment = assess(solve_survey(taken))
    verdicts, plan = assessment.rolls, plan_of(assessment).by_roll
    failing = tuple(one.id for one in verdicts if one.parallel.verdict("as_found") == "fail")
    moves = [abs(plan[one.id].found["parallel"].move.amount_mm) for one in verdicts if one.id in failing]
    found = of(taken).present.cost
    assert found.outside == failing == ("R2", "R3", "R4")
    assert found.total_move_mm == pytest.approx(sum(moves))
    assert found.largest_move_mm == pytest.approx(max(moves)) == pytest.approx(0.3 * 2.7)


def test_cost_against_a_roll_is_what_a_survey_with_that_reference_would_find() -> None:
    """Noisy readings, guarded rule, every roll in turn: the same verdicts as by assessing it anew.

    With readings as found only, for a reference is taken to stand still from round to round.
    """
    rng = np.random.default_rng(7)
    taken = noisy(rng, draw(rng, Reference("R1")).survey(rng))
    taken = replace(taken, setups=tuple(as_found(each) for each in taken.setups))
    found = of(taken)
    for one in taken.rolls:
        anew = assess(solve_survey(replace(taken, reference=Reference(one.id))))
        failing = tuple(each.id for each in anew.rolls if each.parallel.verdict("as_found") == "fail")
        assert named(found, one.id).cost.outside == failing


def test_cost_follows_targets_from_growth() -> None:
    """The direction of a roll that turns while warming up is where it runs; as by assessing it anew."""
    turns = Growth(drive=BearingGrowth(downstream_mm=0.27))
    taken = line()
    taken = replace(
        taken, rolls=tuple(replace(one, growth=turns) if one.id == "R2" else one for one in taken.rolls)
    )
    found = named(of(taken), "R2")
    anew = assess(solve_survey(replace(taken, reference=Reference("R2"))))
    assert found.direction_mm_per_m == pytest.approx(0.2 + 0.1)
    moves = [plan_of(anew).rolls[n].parallel.move.amount_mm for n in (2, 3)]
    assert found.cost.total_move_mm == pytest.approx(sum(map(abs, moves)))


def test_roll_that_cannot_be_moved_costs_more_than_any_number_that_can() -> None:
    """Against R2 all but R3 are outside, and R1 would stay so: it ranks behind R1 with three moves."""
    found = of(line())
    assert named(found, "R2").cost.stuck == ("R1",)
    order = [one.id for one in found.candidates]
    assert order.index("R1") < order.index("R2")


def test_reference_as_it_is_comes_first_among_equals() -> None:
    """Where all rolls are parallel every candidate costs nothing, and nothing speaks for another one."""
    found = of(line(dict.fromkeys(AT, 0.0)))
    assert {one.cost.rank for one in found.candidates} == {(0, 0, 0)}
    assert found.candidates[0].present
    assert [one.present for one in found.candidates].count(True) == 1


def test_of_equals_the_smaller_turn_comes_first() -> None:
    """R2 stands 0.02 mm/m to one side, R3 0.01 to the other, all of them within 0.05 of each other."""
    found = of(line({"R1": 0.0, "R2": -0.02, "R3": 0.01}))
    assert [one.id for one in found.candidates if one.kind == "roll"] == ["R1", "R3", "R2"]


def test_free_direction_serves_most_rolls() -> None:
    """With R1 free to move, the direction lies at the edge of R2's and R3's band nearest to the present."""
    taken = line()
    loose = replace(taken, rolls=tuple(replace(one, adjustable="drive") for one in taken.rolls))
    free = of(loose).free
    assert free.direction_mm_per_m == pytest.approx(0.15)
    assert free.cost.outside == ("R1", "R4")
    assert free.judged == 4


def test_free_direction_stays_where_it_serves() -> None:
    """Nothing is outside: no reason to turn."""
    assert of(line({"R1": 0.0, "R2": 0.02})).free.direction_mm_per_m == 0.0


def test_short_travel_leaves_a_roll_outside() -> None:
    """R4 needs 0.81 mm downstream and has 0.5: it stays outside; with 0.7 it comes within its limit."""

    def limited(room_mm: float) -> Survey:
        travel = Travel(drive=BearingTravel(downstream_mm=room_mm))
        taken = line()
        return replace(taken, rolls=(*taken.rolls[:3], replace(taken.rolls[3], travel=travel)))

    assert of(limited(0.5)).present.cost.stuck == ("R4",)
    assert of(limited(0.7)).present.cost.stuck == ()
    assert of(limited(0.7)).present.cost.largest_move_mm == pytest.approx(0.7)


def test_uncertainty_against_a_roll_is_that_of_the_difference() -> None:
    """Under the guarded rule U of the difference is what is taken off the limit.

    R2 stands 0.03 off R3. Each was read once, as R1 was, so every difference has the same u, and k is 2.
    """
    slopes = {"R1": 0.0, "R2": 0.0, "R3": 0.030}
    taken = line(slopes, decision="guarded")
    u = solve_survey(taken).parallel.slopes["R2", "as_found"].u  # type: ignore[union-attr]
    wide = Limit(0.030 + 2.5 * u, "wide")  # more than U of either difference, for R1 is read as well
    rolls: tuple[Roll, ...] = tuple(replace(one, parallel_limit=wide) for one in taken.rolls)
    assert named(of(replace(taken, rolls=rolls)), "R3").cost.outside == ()
    tight = tuple(replace(one, parallel_limit=Limit(0.030 + 1.9 * u, "tight")) for one in taken.rolls)
    assert named(of(replace(taken, rolls=tight)), "R3").cost.outside == ("R1", "R2")


def test_uncertainty_against_a_roll_has_the_coverage_of_its_own_degrees_of_freedom() -> None:
    """As above, with a coverage probability and read-outs known from a thousand others: k is 1.96."""
    slopes = {"R1": 0.0, "R2": 0.0, "R3": 0.030}
    taken = line(slopes, decision="guarded")
    reading = taken.uncertainty.reading_mm
    assert reading is not None
    stated = replace(
        taken.uncertainty, coverage=Coverage(None, 0.95), reading_mm=replace(reading, dof=1000.0)
    )
    taken = replace(taken, uncertainty=stated)
    u = solve_survey(taken).parallel.slopes["R2", "as_found"].u  # type: ignore[union-attr]
    for widths, outside in ((2.3, ()), (1.8, ("R1", "R2"))):
        limit = Limit(0.030 + widths * u, "as wide as that")
        rolls: tuple[Roll, ...] = tuple(replace(one, parallel_limit=limit) for one in taken.rolls)
        assert named(of(replace(taken, rolls=rolls)), "R3").cost.outside == outside


def test_offset_line_is_a_candidate_where_it_is_the_reference() -> None:
    """It is the present one, and no roll is."""
    rolls = tuple(roll(name) for name in ("R1", "R2"))
    seen = setup("A", {"M1": 0.0, "M2": 0.0}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.4))
    taken = survey(rolls, (seen,), {"M1": 0.0, "M2": 5000.0}, reference=Reference(None, ("M1", "M2")))
    found = of(taken)
    assert (found.present.kind, found.present.judged) == ("line", 2)
    assert named(found, "R1").judged == 1


def test_round_as_left_stands_on_what_was_found_elsewhere() -> None:
    """R2 was read again and is good; R4 was not and still is not."""
    taken = line()
    again = replace(taken.setups[0], readings=(*taken.setups[0].readings, read("R2", 0.0, 0.0, "as_left")))
    left = of(replace(taken, setups=(again,)), "as_left")
    assert left.present.cost.outside == ("R3", "R4")


@pytest.mark.parametrize("decision", ["simple", "guarded", "four_way"])
@pytest.mark.parametrize("name", SAMPLES)
def test_rolls_to_be_moved_are_those_of_the_plan_of_moves(name: str, decision: str) -> None:
    """A conditional pass calls for a move here and there, and so does one that travel allows only in part.

    The same rolls do not pass, and the same of them cannot be brought to a pass.
    """
    taken = replace(sample(name).survey, decision=decision)  # type: ignore[arg-type]
    solution = solve_survey(taken)
    cost, plan = study(solution, "as_left").present.cost, plan_of(assess(solution))
    short = {
        one.roll.id: one.parallel for one in plan.rolls if one.parallel is not None and one.parallel.needed
    }
    fixed = {roll for roll, aspects in plan.not_adjustable.items() if "parallel" in aspects}
    assert set(cost.outside) == short.keys() | fixed
    assert cost.moved == tuple(roll for roll, one in short.items() if one.to_move)
    assert set(cost.stuck) == fixed | {roll for roll, one in short.items() if one.predicted.verdict != "pass"}
    moves = [sum(abs(step.amount_mm) for step, _ in one.steps) for one in short.values()]
    assert cost.total_move_mm == pytest.approx(sum(moves), abs=1e-9)


def test_roll_that_passes_with_a_condition_is_to_be_moved() -> None:
    """0.025 mm/m off, limit 0.03, U more than the rest: within the limit, and yet no plain pass."""
    rolls = (roll("R1"), roll("R2", parallel_limit=Limit(0.03, "0.03 mm/m")))
    seen = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 2.1 * 0.025))
    taken = survey(rolls, (seen,), decision="four_way")
    assert assess(solve_survey(taken)).rolls[1].parallel.verdict("as_found") == "conditional pass"
    assert of(taken).present.cost.moved == ("R2",)
    assert of(replace(taken, decision="simple")).present.cost.moved == ()


def test_roll_without_a_tolerance_is_not_judged() -> None:
    """R4 stands 0.3 mm/m off and nobody asks for less: outside are R2 and R3, and R4 may be the reference."""
    taken = line()
    free = replace(taken, rolls=(*taken.rolls[:3], replace(taken.rolls[3], parallel_limit=None)))
    found = of(free)
    assert [stand.roll for stand in found.stands] == ["R1", "R2", "R3"]
    assert (found.present.judged, found.present.cost.outside) == (2, ("R2", "R3"))
    assert named(found, "R4").judged == 3
    assert named(found, "R4").direction_mm_per_m == pytest.approx(-0.3)
    assert found.not_measured == ()


@pytest.mark.parametrize("edition", [FIRST, EDITION])
def test_reference_read_only_as_left_is_the_reference_as_found_too(edition: int) -> None:
    """It is zero by definition, so the study as found has its present reference in either edition."""
    taken = line()
    readings = (replace(taken.setups[0].readings[0], round="as_left"), *taken.setups[0].readings[1:])
    found = of(replace(taken, setups=(replace(taken.setups[0], readings=readings),), edition=edition))
    assert (found.present.id, found.present.direction_mm_per_m) == ("R1", 0.0)
    assert found.present.cost.outside == ("R2", "R3", "R4")


def test_roll_without_readings_is_listed() -> None:
    """It is no candidate and not judged."""
    taken = line()
    found = of(replace(taken, rolls=(*taken.rolls, roll("R5"))))
    assert found.not_measured == ("R5",)
    assert found.present.judged == 3


def test_study_without_parallel_readings_has_no_answer() -> None:
    """Levels say nothing about a reference for parallel; neither does a round that was not read."""
    levels = survey((roll("R1"),), level=levelled(tilt("R1", 0.0)))
    with pytest.raises(CannotCompute, match="no readings for parallel"):
        of(levels)
    seen = setup("A", {}, read("R1", 0.0, 0.0, "as_left"), read("R2", 0.0, 0.0, "as_left"))
    with pytest.raises(CannotCompute, match="as found"):
        of(survey((roll("R1"), roll("R2")), (seen,)))


def test_study_results_have_the_names_of_the_contract() -> None:
    """Top level and candidates, the cheapest first, through JSON and back."""
    found = json.loads(json.dumps(study_results(of(line())), allow_nan=False))
    assert found["format"] == "certgen-study/1"
    assert found.keys() == {
        "format",
        "survey_sha256",
        "certificate",
        "round",
        "reference",
        "decision",
        "coverage_factor",
        "candidates",
        "not_measured",
    }
    worst = found["candidates"][-1]
    assert worst["stay_outside_rolls"] == ["R1"]
    assert worst["outside"] == len(worst["outside_rolls"]) == worst["stay_outside"] + worst["to_move"]
