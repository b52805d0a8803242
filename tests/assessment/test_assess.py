"""The assessment: which state a roll stands in, what is judged, and what was not measured."""

from dataclasses import replace

import pytest

from certgen.assessment.assess import assess
from certgen.assessment.assessment import Assessment, Missing
from certgen.network.solution import solve_survey
from certgen.survey.survey import BearingGrowth, Growth, Limit, Reference
from tests.simulate.records import levelled, read, roll, setup, survey, tilt

SPAN_M = 2.1
LIMIT = Limit(0.05, "0.05 mm/m")
NAMES = ("R1", "R2", "R3", "R4")


def assessed(*readings, level=None, rolls=None, **changes) -> Assessment:
    """Return the assessment of R1 (the reference) to R4, read from one setup."""
    rolls = rolls or tuple(roll(name, 1000.0 * i) for i, name in enumerate(NAMES))
    seen = setup("A", {}, read("R1", 0.0, 0.0), *readings)
    return assess(solve_survey(survey(rolls, (seen,), level=level, **changes)))


def slope(name: str, mm_per_m: float, which="as_found"):
    """Return a reading of a parallel slope."""
    return read(name, 0.0, mm_per_m * SPAN_M, which)


def test_adjusted_roll_has_both_states_and_its_change():
    """As found 0.3, as left 0.01: the change is -0.29, its u that of two readings of the same setup."""
    aspect = assessed(slope("R2", 0.3), slope("R2", 0.01, "as_left")).rolls[1].parallel
    assert (aspect.as_found.slope_mm_per_m, aspect.as_left.slope_mm_per_m) == pytest.approx((0.3, 0.01))
    assert aspect.adjusted
    assert aspect.change.slope_mm_per_m == pytest.approx(-0.29)
    assert (
        aspect.change.u_mm_per_m
        < (aspect.as_found.u_mm_per_m**2 + aspect.as_left.u_mm_per_m**2) ** 0.5 + 1e-12
    )
    assert aspect.change.U_mm_per_m == 2.0 * aspect.change.u_mm_per_m


def test_roll_that_was_not_adjusted_stands_as_found():
    """Read once only, where another was read as left: its as-found value and verdict stand as left."""
    aspect = assessed(slope("R2", 0.3), slope("R3", 0.0, "as_left")).rolls[1].parallel
    assert aspect.as_left == aspect.as_found
    assert (aspect.adjusted, aspect.change) == (False, None)
    assert aspect.verdict("as_left") == "fail"


def test_fixed_roll_read_again_is_a_closure_not_an_adjustment():
    """Both rounds are one slope, the mean; there is no change."""
    rolls = (roll("R1"), roll("R2", adjustable="none"))
    aspect = assessed(slope("R2", 0.02), slope("R2", 0.04, "as_left"), rolls=rolls).rolls[1].parallel
    assert aspect.as_found.slope_mm_per_m == aspect.as_left.slope_mm_per_m == pytest.approx(0.03)
    assert (aspect.adjusted, aspect.change) == (False, None)


def test_reference_roll_read_again_is_not_adjusted():
    """Zero by definition in both rounds, it changes by nothing, even if its bearings could move."""
    aspect = assessed(slope("R1", 0.0, "as_left"), slope("R2", 0.0)).rolls[0].parallel
    assert (aspect.verdict("as_found"), aspect.verdict("as_left")) == ("reference", "reference")
    assert (aspect.as_left.slope_mm_per_m, aspect.as_left.u_mm_per_m) == (0.0, 0.0)
    assert (aspect.adjusted, aspect.change) == (False, None)


def test_reference_roll_is_judged_for_level():
    """It is the reference of parallel only."""
    aspect = assessed(level=levelled(tilt("R1", 0.2))).rolls[0].level
    assert aspect.verdict("as_found") == "fail"


def test_roll_without_readings_is_not_measured():
    """Of the aspects that have a tolerance, and only those, it is missing."""
    result = assessed(slope("R2", 0.0), slope("R3", 0.0))
    assert result.rolls[3].parallel.verdict("as_left") == "not measured"
    assert result.unread == (Missing("R4", "parallel", "not read yet"),)


def test_roll_with_less_room_fails_alone():
    """A roll's own limit judges it; 0.03 passes against 0.2 and fails against 0.01."""
    rolls = (
        roll("R1"),
        roll("R2", parallel_limit=Limit(0.2, "")),
        roll("R3", parallel_limit=Limit(0.01, "")),
    )
    result = assessed(slope("R2", 0.03), slope("R3", 0.03), rolls=rolls)
    assert [one.parallel.verdict("as_found") for one in result.rolls] == ["reference", "pass", "fail"]


@pytest.mark.parametrize(
    ("decision", "verdicts"),
    [
        ("simple", ("pass", "pass", "fail")),
        ("guarded", ("pass", "fail", "fail")),
        ("four_way", ("pass", "conditional pass", "conditional fail")),
    ],
)
def test_decision_of_the_survey_judges(decision, verdicts):
    """U is about 0.025 here: 0.01, 0.04 and 0.06 against 0.05."""
    result = assessed(slope("R2", 0.01), slope("R3", 0.04), slope("R4", 0.06), decision=decision)
    assert result.rolls[1].parallel.as_found.U_mm_per_m == pytest.approx(0.025, abs=0.001)
    assert tuple(one.parallel.verdict("as_found") for one in result.rolls[1:]) == verdicts


def test_overall_verdict_is_the_worst_of_each_round():
    """R2 fails as found and passes as left; the whole line does too."""
    result = assessed(slope("R2", 0.3), slope("R2", 0.0, "as_left"), slope("R3", 0.0), slope("R4", 0.0))
    assert result.overall == {"as_found": "fail", "as_left": "pass"}


def test_overall_verdict_of_one_stubborn_roll_is_fail():
    """A roll left as it was found fails the line as left."""
    result = assessed(slope("R2", 0.3), slope("R3", 0.3), slope("R3", 0.0, "as_left"), slope("R4", 0.0))
    assert result.overall["as_left"] == "fail"


def test_error_is_taken_from_the_target():
    """A drive bearing that will move 0.27 mm downstream: -0.1 is on target, 0 is not."""
    grows = Growth(drive=BearingGrowth(downstream_mm=0.27))
    rolls = (roll("R1"), roll("R2", growth=grows), roll("R3", growth=grows))
    result = assessed(slope("R2", -0.1), slope("R3", 0.0), rolls=rolls)
    on, off = result.rolls[1].parallel.as_found, result.rolls[2].parallel.as_found
    assert (on.error_mm_per_m, off.error_mm_per_m) == pytest.approx((0.0, 0.1), abs=1e-12)
    assert (on.verdict, off.verdict) == ("pass", "fail")


def limited(count: int) -> tuple:
    """Return rolls that have a limit against the one before."""
    return tuple(roll(name, 1000.0 * i, adjacent_limit=LIMIT) for i, name in enumerate(NAMES[:count]))


def test_adjacent_rolls_are_judged_by_their_difference():
    """Both 0.2 off, R2 and R3 are parallel to each other; only R2 against R1 fails."""
    result = assessed(slope("R2", 0.2), slope("R3", 0.2), rolls=limited(3))
    found = [pair.parallel["as_found"] for pair in result.adjacent]
    assert [one.slope_mm_per_m for one in found] == pytest.approx([0.2, 0.0], abs=1e-12)
    assert [one.verdict for one in found] == ["fail", "pass"]


def test_overall_verdict_counts_pairs():
    """R2 and R3 pass by themselves, 0.02 either way; 0.04 apart they fail a tolerance of 0.03."""
    apart = roll("R3", adjacent_limit=Limit(0.03, ""))
    result = assessed(slope("R2", 0.02), slope("R3", -0.02), rolls=(roll("R1"), roll("R2"), apart))
    assert [one.parallel.verdict("as_found") for one in result.rolls[1:]] == ["pass", "pass"]
    assert result.overall["as_found"] == "fail"


def test_adjacent_difference_counts_what_both_share_once():
    """Against a reference read once, two rolls share its error: their difference does not hold it."""
    result = assessed(slope("R2", 0.2), slope("R3", 0.2), rolls=limited(3))
    one, two = (pair.parallel["as_found"].u_mm_per_m for pair in result.adjacent)
    assert one == pytest.approx(result.rolls[1].parallel.as_found.u_mm_per_m)
    assert two == pytest.approx(one)  # two seatings of two ends, as against the reference


def test_adjacent_pair_as_left_uses_what_stands():
    """R2 was corrected, R3 was not read again: R3 stands as found in the pair."""
    result = assessed(slope("R2", 0.2), slope("R2", 0.0, "as_left"), slope("R3", 0.03), rolls=limited(3))
    pair = result.adjacent[1].parallel
    assert (pair["as_found"].slope_mm_per_m, pair["as_left"].slope_mm_per_m) == pytest.approx((-0.17, 0.03))


def test_adjacent_pair_with_a_gap_is_not_judged():
    """R3 was not read, so neither of its pairs is."""
    result = assessed(slope("R2", 0.0), slope("R4", 0.0), rolls=limited(4))
    assert [bool(pair.parallel) for pair in result.adjacent] == [True, False, False]


def test_adjacent_target_is_the_difference_of_targets():
    """Drive bearings that rise 0.27 and 0.54 mm: cold, the second stands 0.1 mm/m lower."""
    first, second = (
        replace(one, growth=Growth(drive=BearingGrowth(up_mm=rise)))
        for one, rise in zip(limited(2), (0.27, 0.54), strict=True)
    )
    result = assessed(rolls=(first, second), level=levelled(tilt("R1", -0.1), tilt("R2", -0.2)))
    state = result.adjacent[0].level["as_found"]
    assert (state.target_mm_per_m, state.error_mm_per_m) == pytest.approx((-0.1, 0.0), abs=1e-12)


def test_survey_against_a_line_judges_every_roll():
    """With monuments as reference no roll is the reference."""
    seen = setup("A", {"M1": 0.0, "M2": 0.0}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.3))
    line = survey((roll("R1"), roll("R2")), (seen,), {"M1": 0.0, "M2": 5000.0})
    result = assess(solve_survey(replace(line, reference=Reference(None, ("M1", "M2")))))
    assert [one.parallel.verdict("as_found") for one in result.rolls] == ["pass", "fail"]
