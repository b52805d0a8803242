"""Not measured is a verdict: per roll and aspect, in pairs, in the headline of a round and in the plan."""

from dataclasses import replace

import pytest

from certgen.assessment.assess import assess
from certgen.assessment.assessment import Assessment, Missing
from certgen.errors import CannotCompute
from certgen.moves.plan import plan_of
from certgen.network.solution import solve_survey
from certgen.reference_study.study import study
from certgen.results.move_results import all_moves
from certgen.results.survey_results import recorded_rolls, survey_results
from certgen.survey.edition import FIRST
from certgen.survey.survey import Adjustment, Limit, Survey
from certgen.visits.standing import Moment
from tests.simulate.records import levelled, read, roll, setup, survey, tilt

LIMIT = Limit(0.05, "0.05 mm/m")
NAMES = ("R1", "R2", "R3")
RAISED = Adjustment("R2", "drive", up_mm=0.5)
ALONG = Adjustment("R2", "drive", downstream_mm=-0.28)


def line(*readings, level=(), **changes) -> Survey:
    """Return a line of which R1 (the reference), R2 and R3 were read as found, with what is said besides."""
    rolls = changes.pop("rolls", tuple(roll(name, 1000.0 * index) for index, name in enumerate(NAMES)))
    found = [read(name, 0.0, 0.0) for name in NAMES]
    flat = [tilt(name, 0.0) for name in NAMES]
    taken = setup("A", {}, *found, *readings)
    return survey(rolls, (taken,), level=levelled(*flat, *level), **changes)


def assessed(taken: Survey) -> Assessment:
    """Return the assessment of a survey."""
    return assess(solve_survey(taken))


AGAIN = read("R2", 0.0, 0.01, "as_left")
LEVEL_AGAIN = tilt("R2", 0.01, in_round="as_left")


def test_level_that_was_moved_and_not_read_again_is_not_measured() -> None:
    """R2 was raised and moved along, parallel was read again: its level as found says nothing any more."""
    result = assessed(line(AGAIN, adjustments=(RAISED, ALONG)))
    level, parallel = result.rolls[1].level, result.rolls[1].parallel
    assert (level.verdict("as_found"), level.verdict("as_left")) == ("pass", "not measured")
    assert (level.as_left, level.adjusted, level.reasons) == (
        None,
        False,
        {"as_left": "moved, not read again"},
    )
    assert (parallel.verdict("as_left"), parallel.adjusted, parallel.reasons) == ("pass", True, {})
    assert result.overall == {"as_found": "pass", "as_left": "not shown"}
    assert result.missing["as_left"] == (Missing("R2", "level", "moved, not read again"),)
    assert result.rolls[2].level.verdict("as_left") == "pass"  # R3 was not moved: as found it still stands


def test_results_never_say_not_adjusted_of_what_was_not_read_again() -> None:
    """Null beside the verdict not measured; true and false elsewhere; the first edition said false."""
    taken = line(AGAIN, adjustments=(RAISED, ALONG))
    found = survey_results(assessed(taken))["rolls"]
    said = [
        (one["id"], name, one[name]["as_left"]["adjusted"]) for one in found for name in ("level", "parallel")
    ]
    assert said == [
        ("R1", "level", False),
        ("R1", "parallel", False),
        ("R2", "level", None),
        ("R2", "parallel", True),
        ("R3", "level", False),
        ("R3", "parallel", False),
    ]
    assert found[1]["level"]["as_left"]["verdict"] == "not measured"
    assert recorded_rolls({"rolls": found}) == assessed(taken).rolls
    before = survey_results(assessed(replace(taken, edition=FIRST)))["rolls"]
    assert {one[name]["as_left"]["adjusted"] for one in before for name in ("level", "parallel")} <= {
        True,
        False,
    }


@pytest.mark.parametrize(
    ("made", "unread"),
    [
        ((Adjustment("R2", "drive", up_mm=0.2),), ["level"]),
        ((Adjustment("R2", "drive", downstream_mm=0.2),), ["parallel"]),
        ((Adjustment("R2", "operator", up_mm=0.2), Adjustment("R2", "drive", up_mm=0.2)), ["level"]),
        ((Adjustment("R2", "drive", up_mm=0.2), Adjustment("R2", "drive", up_mm=-0.2)), ["level"]),
        ((Adjustment("R2", "drive", up_mm=0.0, downstream_mm=0.0),), []),
        ((Adjustment("R3", "drive", up_mm=0.2, downstream_mm=0.1),), []),
    ],
    ids=["raised", "moved along", "both bearings alike", "and back", "by nothing", "another roll"],
)
def test_each_direction_takes_its_own_aspect(made: tuple[Adjustment, ...], unread: list[str]) -> None:
    """A move up says nothing of parallel; one and its opposite may still have ended elsewhere."""
    other = Adjustment("R1", "drive", up_mm=0.1)  # so that there is an as-left round whatever is asked
    result = assessed(line(adjustments=(*made, other)))
    assert [one.aspect for one in result.unread if one.roll == "R2"] == unread


def test_reading_that_is_set_aside_leaves_nothing_behind_it() -> None:
    """The only as-left reading of R2 is set aside: somebody read it again, so as found no longer tells."""
    aside = replace(LEVEL_AGAIN, exclude="the level was not settled")
    result = assessed(line(AGAIN, level=[aside]))
    assert result.rolls[1].level.reasons == {"as_left": "reading set aside"}
    assert result.overall["as_left"] == "not shown"
    both = assessed(line(AGAIN, level=[aside, LEVEL_AGAIN]))
    assert (both.rolls[1].level.reasons, both.overall["as_left"]) == ({}, "pass")


def test_roll_that_cannot_move_stands_as_it_was_read() -> None:
    """One slope in both rounds: read in one of them, and set aside in the other, it is known in both."""
    rolls = (roll("R1"), roll("R2", adjustable="none"), roll("R3"))
    aside = replace(read("R2", 0.0, 0.02, "as_left"), exclude="bumped")
    result = assessed(line(aside, read("R3", 0.0, 0.0, "as_left"), rolls=rolls))
    assert result.overall["as_left"] == "pass"
    left_only = line(rolls=rolls)
    seen = replace(
        left_only.setups[0], readings=(read("R1", 0, 0), read("R3", 0, 0), read("R2", 0, 0.02, "as_left"))
    )
    fixed = assessed(replace(left_only, setups=(seen,))).rolls[1].parallel
    assert fixed.as_found == fixed.as_left
    assert fixed.reasons == {}


def test_roll_read_in_one_aspect_only_keeps_the_line_from_passing() -> None:
    """R2 passes for parallel; its level has a tolerance and no reading in either round."""
    taken = line(AGAIN)
    result = assessed(replace(taken, level=levelled(tilt("R1", 0.0), tilt("R3", 0.0))))
    assert result.overall == {"as_found": "not shown", "as_left": "not shown"}
    assert {one for which in result.missing.values() for one in which} == {
        Missing("R2", "level", "not read yet")
    }


def test_tolerance_on_an_aspect_that_nobody_read_is_not_kept() -> None:
    """Stated for the line, it is part of what the verdict would claim; without it nothing is missing."""
    taken = replace(line(AGAIN), level=None)
    assert assessed(taken).overall["as_left"] == "not shown"
    assert [one.roll for one in assessed(taken).missing["as_left"]] == list(NAMES)
    without = replace(taken, rolls=tuple(replace(one, level_limit=None) for one in taken.rolls))
    assert assessed(without).overall["as_left"] == "pass"


def test_round_that_was_partly_read_is_not_shown_to_pass() -> None:
    """As found only R1 and R3; R2 was moved first and read afterwards."""
    seen = setup("A", {}, read("R1", 0, 0), read("R3", 0, 0), AGAIN)
    taken = replace(line(), setups=(seen,), level=levelled(tilt("R1", 0), tilt("R3", 0), LEVEL_AGAIN))
    result = assessed(taken)
    assert result.overall == {"as_found": "not shown", "as_left": "pass"}
    assert [(one.roll, one.reason) for one in result.missing["as_found"]] == [("R2", "read only as left")] * 2


def test_what_fails_fails_whatever_else_is_missing() -> None:
    """The worst verdict stays; only a pass needs everything."""
    result = assessed(line(read("R3", 0.0, 0.6, "as_left"), adjustments=(RAISED,)))
    assert (result.overall["as_left"], len(result.missing["as_left"])) == ("fail", 1)


def test_reference_is_never_missing() -> None:
    """It is zero in both rounds, in whichever it was read."""
    seen = setup("A", {}, *(read(name, 0.0, 0.0, "as_left") for name in NAMES), read("R2", 0.0, 0.0))
    taken = replace(line(), setups=(seen,))
    result = assessed(replace(taken, rolls=tuple(replace(one, level_limit=None) for one in taken.rolls)))
    assert result.rolls[0].parallel.verdict("as_found") == "reference"
    assert [one.roll for one in result.missing["as_found"]] == ["R3"]


def test_pair_with_a_roll_that_is_not_measured_is_not_measured() -> None:
    """Both pairs of R2 in level as left, present with nulls and that verdict; in parallel they are judged."""
    rolls = tuple(roll(name, 1000.0 * i, adjacent_limit=LIMIT) for i, name in enumerate(NAMES))
    result = assessed(line(AGAIN, rolls=rolls, adjustments=(RAISED,)))
    said = survey_results(result)["adjacent"]
    left = [pair["level"]["as_left"] for pair in said]
    assert [(one["verdict"], one["slope_mm_per_m"]) for one in left] == [("not measured", None)] * 2
    assert [one["reason"] for one in left] == ["moved, not read again"] * 2
    assert [pair["level"]["as_found"]["verdict"] for pair in said] == ["pass", "pass"]
    assert [pair["parallel"]["as_left"]["verdict"] for pair in said] == ["pass", "pass"]


def test_pair_counts_a_roll_without_a_tolerance_of_its_own() -> None:
    """R2 has no tolerance on level, the pairs that it is of have one: it is missing."""
    rolls = tuple(roll(name, 1000.0 * i, adjacent_limit=LIMIT) for i, name in enumerate(NAMES))
    rolls = (rolls[0], replace(rolls[1], level_limit=None), rolls[2])
    result = assessed(line(AGAIN, rolls=rolls, adjustments=(RAISED,)))
    assert (result.overall["as_left"], [one.roll for one in result.missing["as_left"]]) == (
        "not shown",
        ["R2"],
    )


def test_survey_of_one_round_has_no_verdict_on_the_other() -> None:
    """Nothing was read as left and nothing was moved: the line stands as found, and is said to stand so."""
    result = assessed(line())
    assert (result.overall, result.surveyed) == (
        {"as_found": "pass", "as_left": "not measured"},
        ("as_found",),
    )
    assert result.missing == {"as_found": (), "as_left": ()}
    aspect = result.rolls[1].parallel
    assert (aspect.as_left, aspect.reasons) == (None, {"as_left": "not read as left"})
    assert (aspect.latest, aspect.standing, aspect.standing_verdict) == ("as_found", aspect.as_found, "pass")


def test_visit_of_one_round_is_compared_by_what_was_measured() -> None:
    """The later visit is held against how the rolls were found, the last that anybody measured."""
    taken = line()
    names = {name: name for name in NAMES}
    moment = Moment(solve_survey(taken), "as_left", names)
    assert set(moment.slopes("level")) == set(moment.slopes("parallel")) == set(NAMES)
    aside = line(replace(AGAIN, exclude="bumped"), read("R3", 0.0, 0.0, "as_left"))
    assert "R2" not in Moment(solve_survey(aside), "as_left", names).slopes("parallel")


def test_survey_in_progress_reads_first_what_it_has_not() -> None:
    """R3 was not reached yet: no move of it, and not among those that are well."""
    taken = line()
    seen = setup("A", {}, read("R1", 0, 0), read("R2", 0, 0.6))
    result = assessed(replace(taken, setups=(seen,), level=levelled(tilt("R1", 0), tilt("R2", 0))))
    said = all_moves(result)
    assert result.overall == {"as_found": "fail", "as_left": "not measured"}
    assert [one["id"] for one in said["move"]] == ["R2"]
    assert said["leave"] == ["R1"]
    assert said["not_read"] == [
        {"roll": "R3", "aspect": name, "reason": "not read yet"} for name in ("level", "parallel")
    ]


def test_plan_does_not_move_what_was_moved_already() -> None:
    """R2 was 0.6 mm off, was moved, and was not read again: the old reading orders nothing."""
    taken = line(read("R3", 0.0, 0.0, "as_left"), adjustments=(ALONG,))
    seen = replace(
        taken.setups[0], readings=(read("R1", 0, 0), read("R2", 0, 0.6), *taken.setups[0].readings[2:])
    )
    result = assessed(replace(taken, setups=(seen,)))
    assert result.rolls[1].parallel.verdict("as_found") == "fail"
    assert plan_of(result).by_roll["R2"].parallel is None
    assert all_moves(result)["move"] == []
    assert "R2" not in all_moves(result)["leave"]


def test_study_knows_nothing_of_what_nobody_read() -> None:
    """As left, R2 was moved and not read again; of a survey of one round there is no study as left."""
    found = study(solve_survey(line(read("R3", 0.0, 0.0, "as_left"), adjustments=(ALONG,))), "as_left")
    assert found.not_measured == ("R2",)
    with pytest.raises(CannotCompute, match="measured for parallel as left"):
        study(solve_survey(line()), "as_left")


def test_results_say_why_and_give_it_back() -> None:
    """The reason stands beside the verdict, null where there is a value, and comes back from the record."""
    result = assessed(line(AGAIN, adjustments=(RAISED,)))
    said = survey_results(result)
    level = said["rolls"][1]["level"]
    assert (level["as_left"]["verdict"], level["as_left"]["reason"]) == (
        "not measured",
        "moved, not read again",
    )
    assert level["as_found"]["reason"] is None
    missing = [{"roll": "R2", "aspect": "level", "reason": "moved, not read again"}]
    assert said["overall"]["not_measured"] == missing
    assert said["overall"]["missing"] == {"as_found": [], "as_left": missing}
    assert recorded_rolls(said)[1].level.reasons == {"as_left": "moved, not read again"}


def test_first_edition_takes_what_was_found_for_what_was_left() -> None:
    """An archived certificate is computed by the rules that it was made by."""
    result = assessed(replace(line(AGAIN, adjustments=(RAISED,)), edition=FIRST))
    level = result.rolls[1].level
    assert (level.as_left, level.reasons, result.overall["as_left"]) == (level.as_found, {}, "pass")
    assert assessed(replace(line(), edition=FIRST)).overall["as_left"] == "pass"


def test_first_edition_lacked_what_has_no_reading_at_all_as_left() -> None:
    """Of the aspects that were surveyed, and without a reason."""
    seen = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.1))
    level = levelled(tilt("R1", 0.0), tilt("R2", 0.1), tilt("R3", 0.1))
    rolls = tuple(roll(f"R{n}", 1000.0 * n) for n in (1, 2, 3))
    found = assess(solve_survey(replace(survey(rolls, (seen,), level=level), edition=FIRST)))
    assert found.missing["as_left"] == (Missing("R3", "parallel", None),)


def test_first_edition_missed_what_had_no_reading_in_either_round() -> None:
    """R2 without a level, which was surveyed; of parallel, that nobody read, nothing was missed."""
    level = levelled(tilt("R1", 0.0), tilt("R3", 0.0))
    result = assessed(replace(line(), edition=FIRST, setups=(), level=level))
    assert result.missing["as_left"] == (Missing("R2", "level", None),)
    assert result.missing["as_found"] == ()
