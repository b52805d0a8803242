"""A line over several visits: what drifts and what was adjusted, over new ids and references."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from certgen.errors import CannotCompute, WrongUsage
from certgen.network.solution import Solution
from certgen.survey.quantities import Every
from certgen.survey.survey import Adjustment, BearingGrowth, Growth, Limit, Reference, Survey, Visit
from certgen.visits.trend import AspectTrend, Trend, trend
from tests.simulate import records
from tests.simulate.visits import YEARS, dated, line, pair_of_rolls, solved, turned, visit

RATES = {"R4": 0.05, "R8": -0.04}


def visits(count: int = 4, *, noise: bool = True) -> list[Survey]:
    """Return so many visits to a line of which two rolls drift by RATES a year."""
    one, rng = line(21), np.random.default_rng(21)
    return [
        visit(turned(one, {name: n * rate for name, rate in RATES.items()}), n, rng, noise=noise)
        for n in range(count)
    ]


SOLVED = solved(*visits())


def aspect(found: Trend, name: str) -> AspectTrend:
    """Return parallel of a roll."""
    return next(roll.parallel for roll in found.rolls if roll.name == name)


def rates(found: Trend) -> dict[str, float]:
    """Return the rates of parallel, mm/m per year."""
    return {roll.name: roll.parallel.drift.rate for roll in found.rolls if roll.parallel.drift}


def test_drifts_are_found_exactly_without_noise() -> None:
    """Read by exact plane geometry; years of 365.25 days, whose lengths differ a little."""
    found = rates(trend(solved(*visits(noise=False))))
    assert found == pytest.approx({name: RATES.get(name, 0.0) for name in found}, abs=2e-4)


def test_drifting_rolls_are_named() -> None:
    """And what stands still is not, but for what chance brings at 5 % of sixteen rates."""
    named = {name for name, which in trend(SOLVED).drifting if which == "parallel"}
    assert named >= set(RATES)
    assert len(trend(SOLVED).drifting) <= 4
    assert trend(SOLVED).tested == 17


def _adjusted(visit_number: int, drive_mm: float) -> list[Solution]:
    """Three visits of two rolls; at one of them R2 is set back and read again as left."""
    surveys = []
    for n in range(3):
        reading = [records.read("R1", 0.0, 0.0), records.read("R2", 0.0, 0.05 * n)]
        if n > visit_number:
            reading[1] = records.read("R2", 0.0, 0.05 * n + drive_mm)
        if n == visit_number:
            reading.append(records.read("R2", 0.0, 0.05 * n + drive_mm, "as_left"))
        rolls = (records.roll("R1"), records.roll("R2", 1000.0))
        surveys.append(dated(records.survey(rolls, (records.setup("A", {}, *reading),)), YEARS[n]))
    return solved(*surveys)


@pytest.mark.parametrize("step", [0.0, -0.05, 0.4])
def test_adjustment_is_a_step_and_no_drift(step: float) -> None:
    """Whatever the crew did at the second visit, the rate is that between the visits: 0.05 mm over 2.1 m."""
    found = aspect(trend(_adjusted(1, step)), "R2")
    assert found.drift is not None
    assert found.drift.rate == pytest.approx(0.05 / 2.1, rel=1e-3)
    assert [point.stretch for point in found.points] == [0, 0, 1, 1]
    assert [point.round for point in found.points] == ["as_found", "as_found", "as_left", "as_found"]


def test_roll_that_cannot_move_stands_once_at_a_visit() -> None:
    """Both rounds have one slope; reading it again begins no new stretch."""
    surveys = []
    for n in range(2):
        taken = [
            records.read(name, 0.0, 0.01, which) for name in ("R1", "R2") for which in ("as_found", "as_left")
        ]
        rolls = tuple(records.roll(name, adjustable="none") for name in ("R1", "R2"))
        surveys.append(dated(records.survey(rolls, (records.setup("A", {}, *taken),)), YEARS[n]))
    points = aspect(trend(solved(*surveys)), "R2").points
    assert [(point.round, point.stretch) for point in points] == [("as_found", 0), ("as_found", 0)]


def test_reference_of_the_surveys_does_not_matter() -> None:
    """Solved against R1, R5 or a mixture, followed against R9: equal to 1e-12."""
    surveys = visits()
    other = [replace(survey, reference=Reference("R5")) for survey in surveys]
    mixed = [*surveys[:2], *other[2:]]
    found = [rates(trend(solved(*each), reference="R9")) for each in (surveys, other, mixed)]
    for one in found[1:]:
        assert one == pytest.approx(found[0], abs=1e-12)


def test_renamed_roll_keeps_its_course() -> None:
    """R4 goes by T4 from the third visit on."""
    surveys = visits()
    later = [_renamed(surveys[2], was="R4"), _renamed(surveys[3], was=None)]
    found = trend(solved(*surveys[:2], *later))
    assert len(aspect(found, "T4").points) == 4
    assert rates(found)["T4"] == rates(trend(SOLVED))["R4"]


def _renamed(survey: Survey, was: str | None) -> Survey:
    """R4 under the id T4."""

    def name(old: str) -> str:
        return "T4" if old == "R4" else old

    rolls = tuple(replace(r, id="T4", was=was) if r.id == "R4" else r for r in survey.rolls)
    setups = tuple(
        replace(setup, readings=tuple(replace(r, roll=name(r.roll)) for r in setup.readings))
        for setup in survey.setups
    )
    slopes = tuple(replace(r, roll=name(r.roll)) for r in survey.level.slopes)
    return replace(survey, rolls=rolls, setups=setups, level=replace(survey.level, slopes=slopes))


def test_outlook_foretells_the_day_the_tolerance_is_reached() -> None:
    """R4 turns by 0.05 mm/m a year: the day expected is when its slope meets the limit."""
    found = aspect(trend(SOLVED), "R4")
    assert found.drift is not None
    assert found.outlook is not None
    assert found.outlook.expected is not None
    years = (found.outlook.expected - YEARS[3]).days / 365.25
    left = 0.05 - abs(found.outlook.error_mm_per_m)
    assert years == pytest.approx(max(left, 0.0) / abs(found.drift.rate), abs=0.01)


def test_next_survey_is_the_first_tolerance_that_may_be_missed() -> None:
    """The earliest of all days until which tolerances are kept, never later than the outlook goes."""
    found = trend(SOLVED)
    kept = [
        one.kept_until
        for roll in found.rolls
        for one in (roll.level.outlook, roll.parallel.outlook)
        if one is not None and one.kept_until is not None
    ]
    assert found.next_survey.day == min(kept)
    assert found.next_survey.day <= YEARS[3] + (YEARS[3] - YEARS[0])


def test_tolerance_that_is_not_kept_now_is_named() -> None:
    """A roll that drifted out of its tolerance before the last visit."""
    one, rng = line(21), np.random.default_rng(1)
    out = replace(one, rolls=tuple(one.rolls))
    start = out.rolls[3].parallel["as_found"]
    far = turned(out, {"R4": -start})  # R4 stands at zero first
    surveys = [visit(turned(far, {"R4": 0.04 * n}), n, rng) for n in range(4)]
    found = trend(solved(*surveys))
    assert ("R4", "parallel") in found.next_survey.not_kept
    outlook = aspect(found, "R4").outlook
    assert outlook is not None
    assert outlook.kept_until is None


def test_roll_that_moved_once_is_named_with_the_days() -> None:
    """It stood still before and after: no drift, outside by its last reading, and no day rests on it."""
    one, rng = line(21), np.random.default_rng(1)
    turns = enumerate((0.0, 0.0, 0.3, 0.3))
    surveys = [visit(turned(one, {"R6": by}), n, rng, noise=False) for n, by in turns]
    found = trend(solved(*surveys))
    jumped = aspect(found, "R6")
    assert jumped.sudden == (YEARS[1], YEARS[2])
    assert (jumped.outlook, jumped.kept_now) == (None, False)
    assert jumped.error_mm_per_m == jumped.points[-1].slope_mm_per_m
    assert ("R6", "parallel") in found.unsteady
    assert ("R6", "parallel") in found.next_survey.not_kept
    assert ("R6", "parallel") not in found.drifting


def _with_new_roll(drive_mm: float) -> Trend:
    """Three visits of two rolls, the last one with a third roll that reads so much."""
    return trend(solved(*three_visits({"R1": 0.0, "R2": 0.01}, {"R3": drive_mm})))


def three_visits(read: Mapping[str, float], last: Mapping[str, float] | None = None) -> list[Survey]:
    """Return three visits of rolls that read alike, with further ones at the last."""
    first, second = pair_of_rolls(read, read)
    third, _ = pair_of_rolls({**read, **(last or {})}, read)
    return [first, second, dated(third, YEARS[2])]


def test_roll_seen_once_is_named_apart_from_the_day() -> None:
    """Outside tolerance it is not kept, within it nothing is foretold; the day rests on the others."""
    outside, within = _with_new_roll(0.5).next_survey, _with_new_roll(0.0).next_survey
    assert (outside.not_kept, outside.not_foretold) == ((("R3", "parallel"),), ())
    assert (within.not_kept, within.not_foretold) == ((), (("R3", "parallel"),))
    assert outside.day is not None
    assert outside.day == within.day


def test_no_day_follows_where_nothing_can_be_foretold() -> None:
    """Visits of one day have no rate; a line far outside keeps nothing that could be kept until a day."""
    first, second = pair_of_rolls({"R1": 0.0, "R2": 0.01}, {"R1": 0.0, "R2": 0.01})
    same_day = replace(second, visit=first.visit)
    assert trend(solved(first, same_day)).next_survey.day is None
    assert trend(solved(first, same_day)).next_survey.not_foretold == (("R2", "parallel"),)
    outside = trend(solved(*pair_of_rolls({"R1": 0.0, "R2": 2.0}, {"R1": 0.0, "R2": 2.0}))).next_survey
    assert (outside.day, outside.not_kept) == (None, (("R2", "parallel"),))


def test_tolerances_kept_beyond_the_outlook_are_no_reason_for_a_day() -> None:
    """The day is then where the outlook ends, and no roll is named for it."""
    wide = Limit(5.0, "5 mm/m")
    surveys = [
        replace(one, rolls=tuple(replace(each, parallel_limit=wide) for each in one.rolls))
        for one in three_visits({"R1": 0.0, "R2": 0.0})
    ]
    found = trend(solved(*surveys))
    outlook = aspect(found, "R2").outlook
    assert outlook is not None
    assert outlook.open_ended
    assert found.next_survey.day == YEARS[2] + (YEARS[2] - YEARS[0])
    assert found.next_survey.because == ()


def test_outlook_ends_with_the_calendar() -> None:
    """A mistyped year must not end in an error of the language."""
    first, second, third = three_visits({"R1": 0.0, "R2": 0.0})
    found = trend(solved(first, second, dated(third, date.max)))
    assert found.next_survey.day == date.max


def test_two_visits_have_no_rate_and_foretell_no_day() -> None:
    """One difference is no rate, however large against its U; the last readings still tell what is kept."""
    found = trend(solved(*pair_of_rolls({"R1": 0.0, "R2": 0.0}, {"R1": 0.0, "R2": 0.06})))
    assert (found.drifting, found.unsteady, found.tested) == ((), (), 0)
    assert aspect(found, "R2").drift is None
    assert aspect(found, "R2").kept_now is not None
    assert (found.next_survey.day, found.next_survey.by_interval) == (None, False)


@pytest.mark.parametrize(
    ("every", "day"),
    [(Every(months=12), date(2028, 3, 1)), (Every(days=90), date(2027, 5, 30)), (None, None)],
)
def test_two_visits_keep_the_interval_of_the_plant(every: Every | None, day: date | None) -> None:
    """What the latest survey states counts from the last day of its work; the earlier one's is past."""
    first, second = pair_of_rolls({"R1": 0.0, "R2": 0.0}, {"R1": 0.0, "R2": 0.06})
    before = replace(first, visit=replace(first.visit, interval=Every(days=10)))
    after = replace(second, visit=Visit(date(2027, 2, 28), date(2027, 3, 1), every))
    found = trend(solved(before, after)).next_survey
    assert (found.day, found.by_interval, found.because) == (day, day is not None, ())


def test_what_is_foretold_is_no_later_than_the_interval_of_the_plant() -> None:
    """Three still visits would do for two years more; the plant wants it every month."""
    surveys = three_visits({"R1": 0.0, "R2": 0.0})
    free = trend(solved(*surveys)).next_survey
    monthly = replace(surveys[2], visit=replace(surveys[2].visit, interval=Every(months=1)))
    bound = trend(solved(*surveys[:2], monthly)).next_survey
    assert free.day is not None
    assert not free.by_interval
    assert bound.by_interval
    assert bound.day == Every(months=1).after(surveys[2].visit.finished) < free.day


def test_roll_that_jumps_is_not_steady() -> None:
    """It moved at one visit and back at the next: no drift, and nothing is foretold."""
    one, rng = line(21), np.random.default_rng(2)
    surveys = [visit(turned(one, {"R6": by}), n, rng) for n, by in enumerate((0.0, 0.3, -0.1, 0.1))]
    found = trend(solved(*surveys))
    assert ("R6", "parallel") in found.unsteady
    assert aspect(found, "R6").outlook is None


def test_roll_that_is_gone_has_a_course_and_no_outlook() -> None:
    """It stands last, under its id."""
    surveys = visits(3)
    last = replace(
        surveys[2],
        rolls=tuple(roll for roll in surveys[2].rolls if roll.id != "R2"),
        setups=tuple(
            replace(setup, readings=tuple(r for r in setup.readings if r.roll != "R2"))
            for setup in surveys[2].setups
        ),
        level=replace(surveys[2].level, slopes=tuple(r for r in surveys[2].level.slopes if r.roll != "R2")),
    )
    found = trend(solved(*surveys[:2], last))
    assert found.rolls[-1].name == "R2"
    assert len(aspect(found, "R2").points) == 2
    assert aspect(found, "R2").outlook is None


def test_level_has_its_own_drift() -> None:
    """Seen against nothing but gravity."""
    one, rng = line(22), np.random.default_rng(3)
    surveys = [visit(turned(one, {"R5": 0.05 * n}, level=True), n, rng, noise=False) for n in range(3)]
    found = {roll.name: roll.level.drift.rate for roll in trend(solved(*surveys)).rolls if roll.level.drift}
    assert found == pytest.approx({name: 0.05 if name == "R5" else 0.0 for name in found}, abs=2e-4)


def test_trend_takes_two_visits_of_different_days() -> None:
    """One is not enough, and one visit twice is one."""
    with pytest.raises(WrongUsage, match="two visits or more"):
        trend(SOLVED[:1])
    with pytest.raises(WrongUsage, match="given twice"):
        trend([SOLVED[0], SOLVED[0]])
    with pytest.raises(WrongUsage, match="order"):
        trend([SOLVED[1], SOLVED[0]])


def test_trend_needs_a_common_reference() -> None:
    """A roll that was not measured everywhere is none."""
    with pytest.raises(CannotCompute, match="Measured every time"):
        trend(SOLVED, reference="R77")


def test_rate_is_per_year_of_365_25_days() -> None:
    """The same readings two years apart and one year apart."""

    def spaced(days: int) -> Trend:
        return trend(
            solved(*(dated(one, YEARS[0] + timedelta(days=days * n)) for n, one in enumerate(visits(3))))
        )

    assert rates(spaced(732))["R4"] == pytest.approx(rates(spaced(366))["R4"] / 2.0)


def test_adjustment_that_was_not_read_is_a_step_too() -> None:
    """R2 was reported moved at the second visit and not read after: nobody knows by how much it stepped."""
    drives = (0.0, 0.05, -0.35, -0.30)
    surveys = [dated(_two_rolls(drive), day) for drive, day in zip(drives, YEARS, strict=True)]
    surveys[1] = replace(surveys[1], adjustments=(Adjustment("R2", "drive", downstream_mm=-0.45),))
    found = aspect(trend(solved(*surveys)), "R2")
    assert [point.stretch for point in found.points] == [0, 0, 1, 1]
    assert found.drift is not None
    assert found.drift.rate == pytest.approx(0.05 / 2.1, rel=1e-2)


def test_last_adjustment_that_was_not_read_leaves_no_outlook() -> None:
    """How the roll stands now is not known."""
    surveys = [dated(_two_rolls(drive), day) for drive, day in zip((0.0, 0.05, 0.1), YEARS, strict=False)]
    surveys[2] = replace(surveys[2], adjustments=(Adjustment("R2", "drive", downstream_mm=-0.05),))
    found = aspect(trend(solved(*surveys)), "R2")
    assert found.drift is not None
    assert found.outlook is None


def test_reference_of_the_latest_of_two_visits_is_the_common_one() -> None:
    """R1 was the first visit's, R2 the second's: all is held against R2, which R1 stood 0.1 mm/m short of."""
    first, second = pair_of_rolls({"R1": 0.0, "R2": 0.21}, {"R1": 0.0, "R2": 0.21})
    found = trend(solved(first, replace(second, reference=Reference("R2"))))
    assert found.reference is not None
    assert (found.reference.roll, found.reference.brought) == ("R2", True)
    assert [point.slope_mm_per_m for point in aspect(found, "R1").points] == pytest.approx([-0.1, -0.1])
    assert aspect(found, "R2").points == ()


def test_roll_of_the_latest_survey_that_was_not_read_there_is_not_said_to_be_kept() -> None:
    """R2 was read at the first two visits only: how it stands now nobody knows, however steady it was."""
    surveys = three_visits({"R1": 0.0, "R2": 0.0, "R3": 0.0})
    seen = surveys[2].setups[0]
    unread = replace(seen, readings=tuple(one for one in seen.readings if one.roll != "R2"))
    found = trend(solved(*surveys[:2], replace(surveys[2], setups=(unread,))))
    gone, read = aspect(found, "R2"), aspect(found, "R3")
    assert [point.day for point in gone.points] == [YEARS[0], YEARS[1]]
    assert (gone.kept_now, gone.outlook) == (None, None)
    assert (read.kept_now, len(read.points)) == (True, 3)
    assert ("R2", "parallel") not in found.next_survey.not_kept


def test_round_in_which_the_common_reference_was_not_read_has_no_points() -> None:
    """R2 was read only as left at the first visit: R3 as found cannot be held against it, as left it can."""
    first, second = pair_of_rolls(dict.fromkeys(("R1", "R2", "R3"), 0.0), {"R1": 0.0, "R2": 0.0, "R3": 0.21})
    taken = [records.read("R1", 0.0, 0.0), records.read("R3", 0.0, 0.63)]
    taken += [records.read("R2", 0.0, 0.21, "as_left"), records.read("R3", 0.0, 0.42, "as_left")]
    partly = replace(first, setups=(records.setup("A", {}, *taken),))
    points = aspect(trend(solved(partly, second), reference="R2"), "R3").points
    assert [(point.day, point.round) for point in points] == [(YEARS[0], "as_left"), (YEARS[1], "as_found")]
    assert [point.slope_mm_per_m for point in points] == pytest.approx([0.1, 0.1])


def test_target_is_that_against_the_common_reference() -> None:
    """R2 turns by 0.27 mm over its 2.7 m while it warms up, so it is to stand 0.1 mm/m short of zero.

    R3 against R2, the reference, is therefore to stand 0.1 mm/m beyond it; against R1, in line with it.
    """
    turns = Growth(drive=BearingGrowth(downstream_mm=0.27))
    surveys = [
        replace(one, rolls=tuple(replace(r, growth=turns) if r.id == "R2" else r for r in one.rolls))
        for one in pair_of_rolls(dict.fromkeys(("R1", "R2", "R3"), 0.0), {"R1": 0.0, "R2": 0.0, "R3": 0.0})
    ]
    against = {name: aspect(trend(solved(*surveys), reference=name), "R3") for name in ("R1", "R2")}
    assert against["R1"].target_mm_per_m == 0.0
    assert against["R2"].target_mm_per_m == pytest.approx(0.1)
    assert aspect(trend(solved(*surveys), reference="R1"), "R2").target_mm_per_m == pytest.approx(-0.1)


def _two_rolls(drive_mm: float) -> Survey:
    rolls = (records.roll("R1"), records.roll("R2", 1000.0))
    reading = (records.read("R1", 0.0, 0.0), records.read("R2", 0.0, drive_mm))
    return records.survey(rolls, (records.setup("A", {}, *reading),))
