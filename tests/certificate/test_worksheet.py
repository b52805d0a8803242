"""The crew's work sheet: every move with its bearing, amount, shims and stop reading; safety on each page."""

from dataclasses import replace
from functools import cache
from io import BytesIO

import pytest
from pypdf import PdfReader

from certgen import resources
from certgen.assessment.assess import assess
from certgen.assessment.assessment import Assessment
from certgen.document.work_sheet import SheetRoll, WorkSheet, work_sheet
from certgen.document.work_sheet_roll import Remark
from certgen.moves.after_moves import Apart, still_apart
from certgen.network.solution import solve_survey
from certgen.pdf.work_sheet_pages import work_sheet_pdf
from certgen.resources import LANGUAGES
from certgen.survey.survey import BearingTravel, Limit, Positive, ShimStock, Survey, Travel
from certgen.verify.pdf_bytes import revisions
from certgen.verify.visible_text import visible
from certgen.wording.wording import Wording
from tests.assessment.test_plan import both_ways
from tests.certificate.samples import WORDING, sample
from tests.simulate.records import levelled, read, roll, setup, survey, tilt

NAMES = ("tutorial", "winder_inch", "coater_mm", "dryer_mixed", "unwind_wide")
PAPERS = ("A5", "A4", "A3", "letter")


@cache
def found_only(name: str) -> Assessment:
    """Return a sample as it stood before anything was moved."""
    taken = sample(name).survey
    setups = tuple(
        replace(one, readings=tuple(r for r in one.readings if r.round == "as_found")) for one in taken.setups
    )
    level = taken.level and replace(
        taken.level,
        slopes=tuple(r for r in taken.level.slopes if r.round == "as_found"),
        heights=tuple(r for r in taken.level.heights if r.round == "as_found"),
    )
    return assess(solve_survey(replace(taken, setups=setups, level=level, adjustments=())))


@cache
def pages(name: str, paper: str = "A4") -> tuple[str, ...]:
    """Return the text of each page of a sample's sheet, white space folded."""
    pdf = work_sheet_pdf(found_only(name), WORDING, paper)
    return tuple(" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(pdf)).pages)


def rolls(sheet: WorkSheet) -> list[SheetRoll]:
    """Return the rolls to move in the order of the sheet."""
    return [one for group in sheet.groups for one in group.rolls]


def sheet_of(taken: Survey) -> WorkSheet:
    """Return the work sheet of a survey."""
    return work_sheet(assess(solve_survey(taken)), WORDING)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", NAMES)
def test_every_page_says_what_it_belongs_to_and_how_to_stay_safe(name: str, paper: str) -> None:
    """Certificate, page n of N, lock out, local codes: a page that is torn off loses none of it."""
    head = sample(name).survey.certificate
    texts = pages(name, paper)
    for number, text in enumerate(texts, 1):
        sheet = sample(name).survey.sha256[:8]
        assert text.count(f"Certificate {head.number}, revision {head.revision}, sheet {sheet}") == 2
        assert f"page {number} of {len(texts)}" in text
        assert "isolate, lock out and tag out every drive" in text
        assert "Local codes, the site's own procedures" in text
        assert text.count("Before you start and throughout the job") == 1


@pytest.mark.parametrize("name", NAMES)
def test_every_move_is_on_the_pages(name: str) -> None:
    """Action, bearing, amount, shims, what to watch, where to stop, lines to fill in, what to expect."""
    text = " ".join(pages(name))
    found = rolls(work_sheet(found_only(name), WORDING))
    assert found
    for one in found:
        assert f"{one.id} {one.name}" in text
        for step in one.steps:
            assert f"{step.action} {step.bearing} {step.amount} {step.shims}".strip() in text
            assert f"{step.watch} {step.stop}" in text
        for bearing in one.bearings:
            assert f"Done at the {bearing} up (+) downstream (+) shims used by time" in text
        assert all(remark.text in text for remark in one.remarks)


@pytest.mark.parametrize("name", NAMES)
def test_sheet_holds_the_rolls_that_do_not_pass_and_leaves_the_rest(name: str) -> None:
    """Each roll stands in one place only."""
    found = found_only(name)
    short = {
        one.id
        for one in found.rolls
        if {one.level.standing_verdict, one.parallel.standing_verdict} - {"pass", "reference", "not measured"}
    }
    sheet = work_sheet(found, WORDING)
    moved = [one.id for one in rolls(sheet)]
    assert len(moved) == len(set(moved))
    fixed = {one.id for one in found.survey.rolls if one.adjustable == "none"}
    assert set(moved) == short - fixed
    left = sheet.rest[0].removeprefix("Leave as they are: ").removesuffix(".").split(", ")
    assert sorted([*left, *short]) == sorted(one.id for one in found.survey.rolls)


@pytest.mark.parametrize("name", NAMES)
def test_sheet_is_the_same_bytes_again(name: str) -> None:
    """Nothing of the moment is in it."""
    assert work_sheet_pdf(found_only(name), WORDING, "A4") == work_sheet_pdf(found_only(name), WORDING, "A4")


@pytest.mark.parametrize("paper", PAPERS)
def test_long_sheet_breaks_between_rolls(paper: str) -> None:
    """Twenty rolls of one setup: each on one page whole, every page a section of its own."""
    names = [f"R{n}" for n in range(1, 22)]
    seen = setup("A", {}, read("R1", 0.0, 0.0), *(read(name, 0.0, 0.6) for name in names[1:]))
    taken = survey(tuple(roll(name) for name in names), (seen,))
    pdf = work_sheet_pdf(assess(solve_survey(taken)), WORDING, paper)
    texts = [" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(pdf)).pages]
    places = [[n for n, text in enumerate(texts) if f"{name} roll {name} " in text] for name in names[1:]]
    assert all(len(place) == 1 for place in places)
    assert places == sorted(places)
    assert all(text.count("Before you start") == 1 for text in texts)
    assert all("Rolls seen from setup A" in texts[place[0]] for place in places)


def test_line_that_passes_has_a_sheet_that_says_so() -> None:
    """The tutorial as left."""
    sheet = work_sheet(sample("tutorial"), WORDING)
    assert sheet.groups == ()
    pdf = work_sheet_pdf(sample("tutorial"), WORDING, "A4")
    (page,) = PdfReader(BytesIO(pdf)).pages
    assert "No roll needs a move." in page.extract_text()


def test_direction_stands_in_words_and_as_an_arrow() -> None:
    """Up, down, and downstream to the right."""
    steps = [
        step for name in NAMES for one in rolls(work_sheet(found_only(name), WORDING)) for step in one.steps
    ]
    ways = {"Raise": "up", "Lower": "down", "Move downstream": "right", "Move upstream": "left"}
    assert {(step.action, step.pointing) for step in steps} == set(ways.items())


def test_shims_are_named_for_raising_only() -> None:
    """R4 is raised by two shims, R2 is to be lowered."""
    found = {one.id: one for one in rolls(work_sheet(found_only("winder_inch"), WORDING))}
    assert found["R4"].steps[0].shims == "Add 5 + 1 thou of shims (0.3 thou short)"
    assert found["R2"].steps[0].shims == "Take out shims or lower"
    assert Remark("Level: cannot be achieved by raising only.") in found["R2"].remarks


def test_equal_shims_are_counted() -> None:
    """Three of one thickness are not listed one by one."""
    (one,) = rolls(sheet_of(replace(both_ways(Travel(), 0.1, 0.0), shims=ShimStock((0.09,), 3))))
    assert one.steps[0].shims == "Add 3 × 0.09 mm of shims (0.000 mm over)"


def test_shims_that_fall_short_agree_with_what_the_level_shows() -> None:
    """0.27 mm wanted and 0.25 mm laid on 2700 mm: 0.007 mm/m is left, on the level and in the prediction."""
    (one,) = rolls(sheet_of(replace(both_ways(Travel(), 0.1, 0.0), shims=ShimStock((0.25,), 1))))
    (step,) = one.steps
    assert step.shims == "Add 0.25 mm of shims (0.020 mm short)"
    assert step.watch.endswith("not reversed; with these shims it shows")
    assert "+0.007 mm/m" in step.stop
    assert "error +0.007 mm/m" in one.remarks[-1].text


def test_no_reading_is_watched_where_no_shim_helps() -> None:
    """Nothing is laid, so there is nothing to stop at."""
    (one,) = rolls(sheet_of(replace(both_ways(Travel(), 0.1, 0.0), shims=ShimStock((5.0,), 1))))
    assert (one.steps[0].shims, one.steps[0].watch, one.steps[0].stop) == (
        "No shim in stock brings it nearer",
        "",
        "",
    )


@pytest.mark.parametrize("language", LANGUAGES)
def test_roll_that_no_move_can_make_pass_is_told_first(language: str) -> None:
    """U and limit beside each other, and louder than the rest."""
    taken = both_ways(Travel(), 0.1, 0.0)
    tight = replace(taken, rolls=(taken.rolls[0], replace(taken.rolls[1], level_limit=Limit(2e-4, ""))))
    wording = Wording(resources.templates(), language)
    (one,) = rolls(work_sheet(assess(solve_survey(tight)), wording))
    assert one.remarks[0].strong
    assert wording.digits.fixed(0.0002, 5) in one.remarks[0].text
    (fits,) = rolls(work_sheet(assess(solve_survey(taken)), wording))
    assert fits.remarks[0].text[:30] != one.remarks[0].text[:30]


def test_setup_note_says_what_to_add_where_the_laser_was_set_up_again() -> None:
    """Each setup names a roll that stays, the first of them the reference."""
    notes = [group.note for group in work_sheet(found_only("winder_inch"), WORDING).groups if group.note]
    assert "first measure roll R1, which must not have been moved, at the target places" in notes[0]
    for note in notes:
        assert "Add to the starting, stop-at and check readings: today's reading minus the survey's." in note
        assert "A positive reading means that this end lies" in note
        assert "the laser-target steps of parallel moves only, not heights or the level" in note


@pytest.mark.parametrize(("sign", "shown"), [("downstream", "+0.210"), ("upstream", "−0.210")])
@pytest.mark.parametrize(("moved", "zeroed"), [("drive", "operator"), ("operator", "drive")])
def test_reading_of_the_reference_is_that_of_the_side_which_is_zeroed(
    sign: str, shown: str, moved: str, zeroed: str
) -> None:
    """The reference reads 0.21 mm more at the drive side; from there, as much less. In the crew's sign."""
    lined = (roll("R1"), roll("R2", adjustable=moved, targets_mm=(300.0, 1350.0)))
    seen = setup("A", {}, read("R1", 0.0, 0.21), read("R2", 0.0, 0.6, y_mm=(300.0, 1350.0)))
    (group,) = sheet_of(survey(lined, (seen,), positive=Positive(roll=sign))).groups
    value = shown if zeroed == "operator" else shown.translate(str.maketrans("+−", "−+"))
    assert f"In the survey roll R1, zeroed on the {zeroed} side, read {value} mm on the {moved}" in group.note
    assert f"zeroed on the {moved} side," not in group.note
    assert "bearing centre: R2: 300 mm and 1350 mm; R1: 300 mm and 2400 mm." in group.note
    assert "For R2, with the targets at another distance, add 0.500 times as much." in group.note


def test_target_is_zeroed_once_and_the_sheet_says_where_it_starts_and_what_it_must_show() -> None:
    """Before loosening, in every step of laser and heights: with T2, 0.65 mm, from −0.485 to +0.102 mm."""
    (group,) = work_sheet(found_only("unwind_wide"), WORDING).groups
    assert "Zero the target once for each step, before the bearing is loosened." in group.note
    assert "measure the roll again and print a new sheet" in group.note
    assert group.note.count("500 mm and 4700 mm") == 1
    steps = {one.id: one.steps for one in group.rolls}
    (step,) = steps["T2"]
    assert step.watch == (
        "Before loosening, zero the laser target once on the drive side, then set it on the operator side:"
        " it starts at about −0.485 mm; stop at"
    )
    assert (step.stop, step.check) == (
        "+0.102 mm",
        "Check: zeroed again after the move, it must read +0.040 mm.",
    )
    raised = steps["T1"][0]
    assert "zero the height once on the drive side" in raised.watch
    assert raised.check == "Check: zeroed again after the move, it must read −0.006 mm."
    assert all(one.check for each in steps.values() for one in each)
    text = " ".join(pages("unwind_wide"))
    assert all(f"{one.stop} {one.check}" in text for each in steps.values() for one in each)


def test_sign_of_heights_is_not_that_of_the_laser() -> None:
    """Higher, whatever way positive read-outs of the laser lie; a level that is read needs no such word."""
    (group,) = work_sheet(found_only("unwind_wide"), WORDING).groups
    assert "Level by heights: a positive reading means that this end is higher." in group.note
    (levelled_only,) = sheet_of(both_ways(Travel(), 0.1, 0.0)).groups
    assert "higher" not in levelled_only.note
    assert "Zero the target" not in levelled_only.note


def test_move_about_the_centre_has_no_reading_on_the_sheet() -> None:
    """Said where a target is watched; what a level shows is the same for either way."""
    ((one,),) = (group.rolls for group in sheet_of(both_ways(Travel(), 0.1, 0.2)).groups)
    level, parallel = (each for each in one.remarks if "about the centre" in each.text)
    assert parallel.text.endswith("The readings on this sheet do not hold for that.")
    assert level.text.endswith("mm.")
    assert (level.plain, parallel.plain) == (True, True)


def test_two_sheets_of_one_shift_are_told_apart() -> None:
    """Days and rounds of the readings, and a number that another reading changes."""
    before, after = (
        work_sheet(found, WORDING) for found in (found_only("dryer_mixed"), sample("dryer_mixed"))
    )
    assert before.subtitle.endswith("From the readings of 2026-08-11 to 2026-08-12, as found")
    assert after.subtitle.endswith("From the readings of 2026-08-11 to 2026-08-12, as left")
    digest = sample("dryer_mixed").survey.sha256
    assert f", sheet {digest[:8]}" in after.identification
    assert f"work sheet {digest[:8]} " in after.end
    other = sheet_of(replace(sample("dryer_mixed").survey, sha256="0123456789abcdef" * 4))
    assert other.identification.endswith("sheet 01234567")


def test_no_roll_that_stays_means_a_new_survey() -> None:
    """The one roll that the setup saw is to be moved."""
    lined = (roll("R1"), roll("R2"), roll("R3"))
    monuments = {"M1": 0.0, "M2": 0.0}
    first = setup("A", monuments, read("R1", 0.0, 0.0), read("R2", 0.0, 0.0))
    second = setup("B", monuments, read("R3", 0.0, 0.6))
    (group,) = sheet_of(survey(lined, (first, second), {"M1": -900.0, "M2": 900.0})).groups
    assert "survey again and print a new sheet, for no roll that stays put was measured" in group.note


def test_travel_that_forbids_is_said() -> None:
    """How much of the move there is room for, and that the other bearing takes the rest."""
    (one,) = rolls(sheet_of(both_ways(Travel(operator=BearingTravel(up_mm=0.2)), 0.1, 0.0)))
    assert [step.bearing for step in one.steps] == ["operator side", "drive side"]
    assert one.bearings == ("operator side", "drive side")
    assert (
        "only 0.200 mm of travel is left at the operator side, the other bearing takes the rest"
        in one.remarks[0].text
    )


def test_travel_of_both_bearings_may_fall_short() -> None:
    """The other bearing takes what it can, and what will not pass is said louder than the rest."""
    short = Travel(BearingTravel(up_mm=0.01), BearingTravel(down_mm=0.02))
    (one,) = rolls(sheet_of(both_ways(short, 0.1, 0.0)))
    assert "the other bearing takes what it can" in one.remarks[0].text
    assert one.remarks[0].strong
    assert one.remarks[-1].text.endswith("fail.")
    assert one.remarks[-1].strong


def test_other_bearing_may_take_the_whole_move() -> None:
    """No room at the low bearing: the high one comes down, and that is said."""
    (one,) = rolls(sheet_of(both_ways(Travel(operator=BearingTravel(up_mm=0.0)), 0.1, 0.0)))
    assert [(step.action, step.bearing) for step in one.steps] == [("Lower", "drive side")]
    assert (
        "only 0.000 mm of travel is left at the operator side, the other bearing takes the rest"
        in one.remarks[0].text
    )
    assert not one.remarks[-1].strong


NO_WAY_UP = Travel(*[BearingTravel(0.0, 0.0)] * 2)


def test_roll_without_any_room_is_not_to_be_moved() -> None:
    """There is nothing to do for it; no word that nothing need be done, for it does not pass."""
    sheet = sheet_of(both_ways(NO_WAY_UP, 0.1, 0.0))
    assert sheet.groups == ()
    assert sheet.nothing == "No move to make; see below."
    assert sheet.rest[1] == "Not a full pass, and no travel left to move them: R2 (level)."


def test_roll_with_room_for_one_aspect_says_so_of_the_other() -> None:
    """Parallel is moved; for level no bearing has any travel."""
    sheet = sheet_of(both_ways(NO_WAY_UP, 0.1, 0.2))
    (one,) = rolls(sheet)
    assert [step.action for step in one.steps] == ["Move downstream"]
    assert Remark("Level: no bearing has any travel left for this.", strong=True) in one.remarks
    assert len(sheet.rest) == 1


def test_line_that_needs_no_move_says_so() -> None:
    """Only where every roll passes; not where one fails that cannot be moved."""
    seen = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.0))
    assert sheet_of(survey((roll("R1"), roll("R2")), (seen,))).nothing == "No roll needs a move."
    out = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.6))
    fixed = sheet_of(survey((roll("R1"), roll("R2", adjustable="none")), (out,)))
    assert fixed.nothing == "No move to make; see below."


def test_stop_reading_of_the_level_is_in_divisions_and_as_a_slope() -> None:
    """Where the level states its sensitivity."""
    found = {one.id: one for one in rolls(work_sheet(found_only("winder_inch"), WORDING))}
    step = found["R8"].steps[0]
    assert (
        step.watch == "Level at 54 in from the operator-side bearing, not reversed; with these shims it shows"
    )
    assert step.stop == "+0.1 div (+0.06 thou/ft)"


def test_roll_that_cannot_be_moved_is_named() -> None:
    """Outside tolerance and fixed: no move, and not among those that are well."""
    rolls_ = (roll("R1"), roll("R2", adjustable="none"))
    seen = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.6))
    rest = sheet_of(survey(rolls_, (seen,))).rest
    assert rest == ("Leave as they are: R1.", "Not adjustable, and short of a pass: R2 (parallel).")


def test_neighbours_left_apart_are_named() -> None:
    """Each passes by itself, leaning apart; a pair of which one is moved to its target is not named."""
    near = Limit(0.08, "0.08 mm/m")
    names = ("R1", "R2", "R3", "R4")
    apart = tuple(roll(name, level_limit=Limit(0.1, "0.1 mm/m"), adjacent_limit=near) for name in names)
    level = levelled(*(tilt(n, s) for n, s in zip(names, (0.0, 0.06, -0.06, -0.2), strict=True)))
    found = assess(solve_survey(replace(survey(apart, level=level), decision="simple")))
    assert list(still_apart(found)) == [Apart("R2", "R3", "level", ("R2", "R3"))]
    assert (
        "R2 – R3 (level; moving R2 or R3 to target brings them nearer)" in work_sheet(found, WORDING).rest[-1]
    )


def test_move_that_would_part_neighbours_further_is_not_advised() -> None:
    """Both lean the same way: the one that leans more helps; where it cannot be moved, nothing does."""
    near = Limit(0.04, "0.04 mm/m")

    def apart(second: str, way: float = 1.0) -> tuple[str, ...]:
        rolls_ = tuple(
            roll(name, level_limit=Limit(0.1, "0.1 mm/m"), adjacent_limit=near, adjustable=adjustable)
            for name, adjustable in (("R1", "drive"), ("R2", second))
        )
        level = levelled(tilt("R1", way * 0.04), tilt("R2", way * 0.09))
        found = assess(solve_survey(replace(survey(rolls_, level=level), decision="simple")))
        return tuple(one.helped_by for one in still_apart(found))

    assert apart("drive") == apart("drive", -1.0) == (("R2",),)
    assert apart("none") == ((),)


def test_verdicts_of_a_roll_are_parted_as_the_language_has_it() -> None:
    """French sets the semicolon off from the word, on the same line."""
    sheet = work_sheet(found_only("winder_inch"), Wording(resources.templates(), "fr"))
    assert rolls(sheet)[0].verdicts.count("\N{NO-BREAK SPACE}; ") == 1


def test_letters_of_the_sheet_are_at_least_ten_points() -> None:
    """But for head and foot of the pages, and the digests of the files inside; a page is not set smaller."""
    file = revisions(work_sheet_pdf(sample("dryer_mixed"), WORDING, "A4"))[0]
    texts, odd = visible(file)
    assert not odd
    small = {one.letters.strip() for one in texts if one.size < 9.99}
    ends = ("Copper Ridge", "Work sheet for the moves", "Certificate CR-0457", "page ", "End of work sheet")
    files = ("This PDF", "everything out")
    assert {text for text in small if not text.startswith((*ends, *files)) and "SHA-256" not in text} == set()


def test_sheet_has_lines_for_the_readings_as_left() -> None:
    """Of both aspects, at both ends, with who and when."""
    roll = work_sheet(sample("dryer_mixed"), WORDING).groups[0].rolls[0]
    assert [one.title for one in roll.blanks] == ["As left: level", "As left: parallel"]
    assert roll.blanks[1].gaps == ("operator side", "drive side", "setup", "by", "time")
