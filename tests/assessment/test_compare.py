"""What has moved between two moments: at the stated rate, whatever the reference, the units, the ids."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from scipy import stats

from certgen import resources
from certgen.errors import CannotCompute, WrongUsage
from certgen.network.solution import solve_survey
from certgen.survey import accept, read_survey
from certgen.survey.survey import (
    Adjustment,
    BearingGrowth,
    Coverage,
    Growth,
    Limit,
    Reference,
    Round,
    Survey,
    Visit,
)
from certgen.visits.comparison import Comparison, Shift, compare, distinct, significance, within
from tests.simulate import records
from tests.simulate.noise import noisy
from tests.simulate.scene import TrueRoll
from tests.simulate.text import Writer, read_back
from tests.simulate.visits import YEARS, dated, line, pair_of_rolls, solved, turned, visit

TRIALS = 400


def shift(value: float, expanded: float, relevant: float | None) -> Shift:
    """Return a change of that size, U and limit, at a roll 2000 mm between bearings."""
    return Shift(value, expanded / 2.0, expanded, 2.0, float("inf"), 0.5, relevant, 2000.0)


def changes(comparison: Comparison) -> dict[str, float]:
    """Return the changes of parallel by roll, mm/m."""
    return {roll.name: roll.parallel.shift.value_mm_per_m for roll in comparison.rolls if roll.parallel.shift}


def called_moved(slope: float) -> float:
    """Return how often a roll that turned by a slope (in u of the change) is called moved."""
    rng = np.random.default_rng(20260302)
    still = pair_of_rolls({"R1": 0.0, "R2": 0.0}, {"R1": 0.0, "R2": 0.0})
    (first, second) = solved(*still)
    u = parallel(compare(first, second), "R2").u_mm_per_m
    drive = slope * u * 2.1
    surveys = pair_of_rolls({"R1": 0.0, "R2": 0.0}, {"R1": 0.0, "R2": drive})
    found = (compare(*solved(*(noisy(rng, survey) for survey in surveys))) for _ in range(TRIALS))
    return sum(parallel(one, "R2").outcome == "moved" for one in found) / TRIALS


def parallel(comparison: Comparison, name: str) -> Shift:
    """Return the change of parallel of a roll."""
    found = next(roll.parallel.shift for roll in comparison.rolls if roll.name == name)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("value", "expanded", "relevant", "outcome"),
    [
        (0.021, 0.02, 0.05, "moved"),
        (-0.021, 0.02, 0.05, "moved"),
        (0.02, 0.02, 0.05, "not moved"),
        (0.02, 0.02, 0.04, "not moved"),
        (0.02, 0.02, 0.039, "cannot be told"),
        (0.0, 0.06, 0.05, "cannot be told"),
        (0.0, 0.02, None, "cannot be told"),
    ],
)
def test_outcome_follows_its_definition(
    value: float, expanded: float, relevant: float | None, outcome: str
) -> None:
    """Moved beyond U; not moved where change plus U stay within the limit; else it cannot be told."""
    assert shift(value, expanded, relevant).outcome == outcome


def test_roll_that_stands_still_is_called_moved_at_the_stated_rate() -> None:
    """At k = 2, normally distributed: 4.55 %, within three standard deviations of so many trials."""
    stated = significance(Coverage(2.0, None))
    assert stated == pytest.approx(0.0455, abs=1e-4)
    assert called_moved(0.0) == pytest.approx(stated, abs=3.0 * (stated * (1.0 - stated) / TRIALS) ** 0.5)


def test_roll_that_has_turned_is_called_moved_as_often_as_it_should() -> None:
    """By 3.5 u, beyond 2 u: in 93.3 % of the trials, the normal distribution beyond -1.5."""
    share = 0.9332
    assert called_moved(3.5) == pytest.approx(share, abs=3.0 * (share * (1.0 - share) / TRIALS) ** 0.5)


def test_significance_follows_a_stated_probability() -> None:
    """One less the coverage probability."""
    assert significance(Coverage(None, 0.99)) == pytest.approx(0.01)


def test_turned_rolls_are_found_exactly_without_noise() -> None:
    """Read by exact plane geometry at both visits: the change is what the rolls turned by."""
    one = line(5)
    by = {"R3": 0.12, "R7": -0.07}
    first = visit(one, 0, np.random.default_rng(0), noise=False)
    second = visit(turned(one, by), 1, np.random.default_rng(1), noise=False)
    found = changes(compare(*solved(first, second)))
    assert found == pytest.approx({name: by.get(name, 0.0) for name in found}, abs=1e-6)
    outcomes = {
        roll.name: roll.parallel.outcome
        for roll in compare(*solved(first, second)).rolls
        if roll.parallel.shift
    }
    assert {name for name, outcome in outcomes.items() if outcome == "moved"} == set(by)


def test_level_changes_are_found_exactly_without_noise() -> None:
    """Though the level had another zero error at each visit."""
    one = line(6)
    later = turned(replace(one, level=replace(one.level, zero_mm_per_m=0.3)), {"R4": 0.08}, level=True)
    first = visit(one, 0, np.random.default_rng(0), noise=False)
    second = visit(later, 1, np.random.default_rng(1), noise=False)
    found = {
        roll.name: roll.level.shift.value_mm_per_m
        for roll in compare(*solved(first, second)).rolls
        if roll.level.shift
    }
    assert found == pytest.approx({name: 0.08 if name == "R4" else 0.0 for name in found}, abs=1e-6)


@pytest.mark.parametrize("side", ["drive", "operator"])
def test_bearing_moves_are_those_of_exact_geometry(side: str) -> None:
    """One bearing moved by 0.3 mm, the other staying, by exact geometry: the move comes back to 0.1 µm."""
    one, moved = line(7), 0.3
    sign = 1.0 if side == "drive" else -1.0
    later = tuple(_shifted(roll, sign * moved) if roll.record.id == "R5" else roll for roll in one.rolls)
    first = visit(one, 0, np.random.default_rng(0), noise=False)
    second = visit(replace(one, rolls=later), 1, np.random.default_rng(1), noise=False)
    found = parallel(compare(*solved(first, second)), "R5")
    assert getattr(found, f"{side}_mm") == pytest.approx(moved, abs=1e-4)
    assert found.drive_mm == -found.operator_mm


def _shifted(roll: TrueRoll, by_mm: float) -> TrueRoll:
    """The drive-side end moved downstream against the other, on the bearing distance of the roll."""
    slope = {which: p + 1000.0 * by_mm / roll.record.bearings_mm for which, p in roll.parallel.items()}
    return replace(roll, parallel=slope)


def _against(reference: str) -> tuple[Survey, Survey]:
    rng = np.random.default_rng(11)
    one = line(8)
    surveys = visit(one, 0, rng), visit(turned(one, {"R6": 0.05}), 1, rng)
    return tuple(replace(survey, reference=Reference(reference)) for survey in surveys)  # type: ignore[return-value]


def test_reference_of_the_surveys_does_not_matter() -> None:
    """The same readings solved against R1, R5 or one each, compared against R9: equal to 1e-12, U too."""
    (a1, b1), (a5, b5) = _against("R1"), _against("R5")
    pairs = ((a1, b1), (a5, b5), (a1, b5))
    found = [compare(*solved(*pair), reference="R9") for pair in pairs]
    for other in found[1:]:
        assert changes(other) == pytest.approx(changes(found[0]), abs=1e-12)
        us = [{n: parallel(one, n).u_mm_per_m for n in changes(one)} for one in (found[0], other)]
        assert us[1] == pytest.approx(us[0], abs=1e-12)


def test_visits_with_different_references_are_brought_to_the_later_one() -> None:
    """And the comparison says so."""
    (first, _), (_, second) = _against("R1"), _against("R5")
    found = compare(*solved(first, second)).reference
    assert found is not None
    assert (found.roll, found.brought) == ("R5", True)
    own = compare(*solved(*_against("R5"))).reference
    assert own is not None
    assert (own.roll, own.brought) == ("R5", False)


def test_reference_must_be_measured_at_both() -> None:
    """What may be named instead is listed."""
    with pytest.raises(CannotCompute, match=r"Measured every time.*R1, R2, R3"):
        compare(*solved(*_against("R1")), reference="R77")


def test_offset_line_at_both_visits_is_the_reference() -> None:
    """The same monuments: nothing is subtracted."""
    marks = Reference(monuments=("M1", "M2", "M3"))
    surveys = [replace(survey, reference=marks) for survey in _against("R1")]
    found = compare(*solved(*surveys)).reference
    assert found is not None
    assert (found.roll, found.monuments) == (None, ("M1", "M2", "M3"))


def test_offset_line_and_roll_are_held_against_the_roll() -> None:
    """The roll that one visit refers to was measured at the other, against its line."""
    first, second = _against("R1")
    found = compare(*solved(replace(first, reference=Reference(monuments=("M1", "M2"))), second))
    assert found.reference is not None
    assert (found.reference.roll, found.reference.brought) == ("R1", True)


def _written(writer: Writer) -> Comparison:
    surveys = _against("R1")
    texts = [writer.text(survey) for survey in surveys]
    days = [dated(read_back(text), day) for text, day in zip(texts, YEARS, strict=False)]
    return compare(*solved(*days))


def test_inches_compare_as_millimetres() -> None:
    """The same visits written in inches and thou give the same changes and outcomes."""
    metric, inch = _written(Writer()), _written(Writer("thou", "thou", "in"))
    assert changes(inch) == pytest.approx(changes(metric), abs=1e-9)
    outcomes = [[roll.parallel.outcome for roll in one.rolls] for one in (metric, inch)]
    assert outcomes[0] == outcomes[1]


def _renamed(survey: Survey, names: Callable[[str], str]) -> Survey:
    """Every roll under another id, saying what it was."""
    rolls = tuple(replace(roll, id=names(roll.id), was=roll.id) for roll in survey.rolls)
    setups = tuple(
        replace(setup, readings=tuple(replace(r, roll=names(r.roll)) for r in setup.readings))
        for setup in survey.setups
    )
    level = replace(survey.level, slopes=tuple(replace(r, roll=names(r.roll)) for r in survey.level.slopes))
    reference = Reference(names(survey.reference.roll))
    return replace(survey, rolls=rolls, setups=setups, level=level, reference=reference)


def test_renamed_rolls_are_the_same_rolls() -> None:
    """Every roll renamed in the second year: nothing else changes."""
    first, second = _against("R1")
    plain = compare(*solved(first, second))
    renamed = compare(*solved(first, _renamed(second, lambda name: f"N{name[1:]}")))
    assert [roll.name for roll in renamed.rolls] == [f"N{n}" for n in range(1, 10)]
    assert list(changes(renamed).values()) == list(changes(plain).values())


def test_rolls_that_come_and_go_are_told_apart() -> None:
    """One only in the first survey, one only in the second."""
    first, second = pair_of_rolls({"R1": 0.0, "R2": 0.1}, {"R1": 0.0, "R3": 0.2})
    found = compare(*solved(first, second))
    assert [(roll.name, roll.presence) for roll in found.rolls] == [
        ("R1", "both"),
        ("R3", "new"),
        ("R2", "gone"),
    ]
    assert {roll.parallel.outcome for roll in found.rolls[1:]} == {"not measured"}


def test_tolerance_is_the_limit_that_matters_unless_one_is_given() -> None:
    """The roll's own tolerance for the aspect, or what the caller asks for."""
    pair = solved(*_against("R1"))
    assert parallel(compare(*pair), "R2").relevant_mm_per_m == records.LIMIT.slope_mm_per_m
    assert parallel(compare(*pair, relevant_mm_per_m=0.01), "R2").relevant_mm_per_m == 0.01


def test_one_visit_compares_as_found_with_as_left() -> None:
    """A roll read twice is judged, one that cannot move is held fixed, the reference is the reference."""
    rolls = (records.roll("R1"), records.roll("R2", 1000.0), records.roll("R3", 2000.0, adjustable="none"))
    found = [records.read(name, 0.0, drive) for name, drive in (("R1", 0.0), ("R2", 1.05), ("R3", 0.1))]
    left = [records.read(name, 0.0, drive, "as_left") for name, drive in (("R2", 0.0), ("R3", 0.1))]
    survey = records.survey(rolls, (records.setup("A", {}, *found, *left),))
    comparison = within(solve_survey(survey))
    assert [roll.parallel.outcome for roll in comparison.rolls] == ["reference", "moved", "held fixed"]
    assert parallel(comparison, "R2").value_mm_per_m == pytest.approx(-0.5)
    assert {roll.level.outcome for roll in comparison.rolls} == {"not measured"}


@pytest.mark.parametrize("read", ["as_found", "as_left"])
def test_roll_that_cannot_move_and_was_read_once_was_not_measured_twice(read: Round) -> None:
    """It is not said to be held fixed between two readings, of which one was never taken."""
    rolls = (records.roll("R1"), records.roll("R2", 1000.0), records.roll("R3", 2000.0, adjustable="none"))
    taken = [records.read("R2", 0.0, 0.0, which) for which in ("as_found", "as_left")]
    seen = records.setup("A", {}, records.read("R1", 0.0, 0.0), records.read("R3", 0.0, 0.1, read), *taken)
    found = within(solve_survey(records.survey(rolls, (seen,)))).rolls[2].parallel
    # one slope for both rounds: the network has it as found where it was read as left, and the reverse
    assert (found.before is None, found.after is None).count(True) == 1
    assert (found.outcome, found.shift) == ("not measured", None)


def test_reference_within_one_visit_was_read_in_both_rounds() -> None:
    """A roll that stands as left by its reading as found has no change of its own to hold others against."""
    file = str(resources.sample_surveys() / "winder_inch.yaml")
    visited = solve_survey(accept(file, read_survey(file)))
    with pytest.raises(CannotCompute, match="R3 was not measured for parallel every time"):
        within(visited, "R3")
    found = within(visited, "R2")
    assert {roll.name: roll.parallel.outcome for roll in found.rolls}["R2"] == "reference"


def test_one_visit_cannot_be_compared_with_itself() -> None:
    """Nor with a revision of its own certificate: its readings are not independent."""
    (first, second) = pair_of_rolls({"R1": 0.0}, {"R1": 0.0})
    again = replace(second, certificate=replace(first.certificate, revision=1))
    with pytest.raises(WrongUsage, match="given twice"):
        compare(*solved(first, again))


def test_visits_in_the_wrong_order_are_refused() -> None:
    """The earlier one comes first."""
    first, second = pair_of_rolls({"R1": 0.0}, {"R1": 0.0})
    with pytest.raises(WrongUsage, match="order"):
        compare(*solved(second, first))


def test_roll_that_cannot_move_is_judged_between_visits() -> None:
    """It is held fixed between the rounds of one visit; in a year it may have moved all the same."""
    surveys = [
        replace(one, rolls=(one.rolls[0], replace(one.rolls[1], adjustable="none")))
        for one in pair_of_rolls({"R1": 0.0, "R2": 0.0}, {"R1": 0.0, "R2": 0.42})
    ]
    found = compare(*solved(*surveys)).rolls[1].parallel
    assert found.outcome == "moved"
    assert found.shift is not None
    assert found.shift.value_mm_per_m == pytest.approx(0.2)


def test_target_is_that_of_the_latest_survey_that_has_the_roll() -> None:
    """Downstream growth of 0.27 mm over 2.7 m asks for -0.1 mm/m cold, upward growth of 0.54 mm for -0.2.

    R2 grows in the later survey, R9 was in the earlier one only; against R2 its growth is taken off.
    """
    turns = Growth(drive=BearingGrowth(downstream_mm=0.27, up_mm=0.54))
    first, second = pair_of_rolls({"R1": 0.0, "R2": 0.0, "R9": 0.0}, {"R1": 0.0, "R2": 0.0, "R3": 0.0})
    first = replace(first, rolls=(*first.rolls[:2], replace(first.rolls[2], growth=turns)))
    second = replace(second, rolls=(second.rolls[0], replace(second.rolls[1], growth=turns), second.rolls[2]))
    pair = solved(first, second)
    for reference, wanted in (
        ("R1", {"R1": 0.0, "R2": -0.1, "R3": 0.0, "R9": -0.1}),
        # the earlier survey, which has R9, states no growth of R2
        ("R2", {"R1": 0.1, "R2": 0.0, "R3": 0.1, "R9": -0.1}),
    ):
        rolls = compare(*pair, reference=reference).rolls
        assert {one.name: one.parallel.target_mm_per_m for one in rolls} == pytest.approx(wanted)
    level = {one.name: one.level.target_mm_per_m for one in rolls}
    assert level == pytest.approx({"R1": 0.0, "R2": -0.2, "R3": 0.0, "R9": -0.2})


def test_tolerance_is_that_of_the_later_survey() -> None:
    """The plant has asked for less since."""
    first, second = pair_of_rolls({"R1": 0.0, "R2": 0.0}, {"R1": 0.0, "R2": 0.0})
    wide = Limit(0.2, "0.2 mm/m")
    second = replace(second, rolls=tuple(replace(one, parallel_limit=wide) for one in second.rolls))
    found = compare(*solved(first, second)).rolls[1].parallel
    assert found.shift is not None
    assert (found.limit_mm_per_m, found.shift.relevant_mm_per_m) == (0.2, 0.2)


def test_uncertainties_are_expanded_as_the_later_survey_states() -> None:
    """Each slope by its own survey's k, 2 and 3; the change by the later one's. u² of one: 4 s² / 2.1²."""
    u = np.sqrt(4.0 * (0.003**2 + 0.008**2 + 0.010**2)) / 2.1
    first, second = pair_of_rolls({"R1": 0.0, "R2": 0.0}, {"R1": 0.0, "R2": 0.0})
    second = replace(second, uncertainty=replace(second.uncertainty, coverage=Coverage(3.0, None)))
    found = compare(*solved(first, second)).rolls[1].parallel
    assert found.before is not None
    assert found.after is not None
    assert found.shift is not None
    assert (found.before.U_mm_per_m, found.after.U_mm_per_m) == pytest.approx((2.0 * u, 3.0 * u))
    assert (found.shift.k, found.shift.U_mm_per_m) == pytest.approx((3.0, 3.0 * np.sqrt(2.0) * u))


def test_change_of_few_readings_has_the_coverage_factor_of_its_degrees_of_freedom() -> None:
    """At 95 %, repeatability known by 8 degrees of freedom: Student's t, by Welch and Satterthwaite.

    Of s² at each end the repeatability has v = 0.008² / (0.003² + 0.008² + 0.010²) = 0.37; one source at both
    visits is one statement each, so the change has 2 * 8 / v².
    """
    stated = replace(records.standard(0.008), dof=8.0)
    surveys = [
        replace(
            one,
            uncertainty=replace(one.uncertainty, coverage=Coverage(None, 0.95), repeatability_mm=stated),
        )
        for one in pair_of_rolls({"R1": 0.0, "R2": 0.0}, {"R1": 0.0, "R2": 0.0})
    ]
    shift = parallel(compare(*solved(*surveys)), "R2")
    dof = 2.0 * 8.0 / (0.008**2 / (0.003**2 + 0.008**2 + 0.010**2)) ** 2
    assert shift.dof == pytest.approx(dof)
    assert shift.k == pytest.approx(stats.t.ppf(0.975, dof), rel=1e-6)


def test_visit_may_begin_on_the_day_the_last_one_ended() -> None:
    """Not before: of two visits that overlap in days nobody knows which reading was first."""
    first, second = pair_of_rolls({"R1": 0.0}, {"R1": 0.0})
    start, end = YEARS[0], YEARS[0] + timedelta(days=2)
    first = replace(first, visit=Visit(start, end))
    distinct((first, replace(second, visit=Visit(end, end + timedelta(days=1)))))
    with pytest.raises(WrongUsage, match="overlap"):
        distinct((first, replace(second, visit=Visit(end - timedelta(days=1), end + timedelta(days=1)))))


def test_same_file_under_two_numbers_is_one_visit() -> None:
    """The readings are the same to the last byte."""
    first, second = pair_of_rolls({"R1": 0.0}, {"R1": 0.0})
    with pytest.raises(WrongUsage, match="Certificate T-2026 is given twice"):
        distinct((first, replace(second, sha256=first.sha256)))


def test_roll_adjusted_and_not_read_after_it_cannot_be_compared() -> None:
    """How it was left is not known; another direction that was moved does not matter."""
    first, second = pair_of_rolls({"R1": 0.0, "R2": 0.1}, {"R1": 0.0, "R2": 0.1})
    moved = replace(first, adjustments=(Adjustment("R2", "drive", downstream_mm=-0.1),))
    raised = replace(first, adjustments=(Adjustment("R2", "drive", up_mm=0.2),))
    outcomes = [compare(*solved(one, second)).rolls[1].parallel.outcome for one in (first, moved, raised)]
    assert outcomes == ["not moved", "not measured", "not moved"]


def replacing(said: str) -> tuple[Survey, Survey]:
    """Return two visits, the later one with this text about what it replaces."""
    first, second = pair_of_rolls({"R1": 0.0, "R2": 0.1}, {"R1": 0.0, "R2": 0.1})
    head = replace(second.certificate, supersedes=said.format(first.certificate.number))
    return first, replace(second, certificate=head)


@pytest.mark.parametrize("said", ["{}", "{}, revision 0", "{} (revision 0)"])
def test_certificate_and_what_replaces_it_are_of_one_visit(said: str) -> None:
    """In either order, with what to do about it."""
    first, second = replacing(said)
    for surveys in ((first, second), (second, first)):
        with pytest.raises(WrongUsage, match=r"replaces T-2026: they are of one visit. Leave T-2026 out"):
            distinct(surveys)


@pytest.mark.parametrize("said", ["{}0, revision 0", "{}-B", "that of last week"])
def test_certificate_that_replaces_another_one_is_of_its_own_visit(said: str) -> None:
    """A number that only begins alike is another one."""
    distinct(replacing(said))
