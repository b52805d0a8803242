"""What was not measured: on page one, in the tables, on the work sheet, in the letter, in every language."""

from dataclasses import replace
from functools import cache
from io import BytesIO

import pytest
from pypdf import PdfReader

from certgen import resources
from certgen.assessment.assess import assess
from certgen.assessment.assessment import Assessment
from certgen.document.compose import compose, letter_text
from certgen.document.content import Paragraphs, Statements, Table, Verdicts
from certgen.document.first_page import summary_section
from certgen.document.moves_section import moves_section
from certgen.document.statements import method_section
from certgen.document.work_sheet import work_sheet
from certgen.network.solution import solve_survey
from certgen.pdf.work_sheet_pages import work_sheet_pdf
from certgen.resources import LANGUAGES
from certgen.survey.survey import Adjustment, Survey
from certgen.wording.values import numbers_for
from certgen.wording.wording import Wording
from tests.certificate.samples import sample
from tests.simulate.records import levelled, read, roll, setup, survey, tilt

NAMES = ("R1", "R2", "R3")


@cache
def words(language: str) -> Wording:
    """Return the words of a language."""
    return Wording(resources.templates(), language)


def moved() -> Assessment:
    """Return a line whose R2 was raised and moved, and read again for parallel only."""
    taken = setup("A", {}, *(read(n, 0.0, 0.0) for n in NAMES), read("R2", 0.0, 0.01, "as_left"))
    made = Adjustment("R2", "drive", up_mm=0.5, downstream_mm=-0.28)
    return assessed(taken, adjustments=(made,))


def assessed(taken, names=NAMES, **changes) -> Assessment:
    """Return the assessment of a line whose rolls `names` were read level."""
    rolls = tuple(roll(name, 1000.0 * index) for index, name in enumerate(NAMES))
    return assess(
        solve_survey(survey(rolls, (taken,), level=levelled(*(tilt(n, 0.0) for n in names)), **changes))
    )


def in_progress() -> Assessment:
    """Return a survey of which R3 was not reached, and nothing was read as left."""
    return assessed(setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.6)), ("R1", "R2"))


def boxes(result: Assessment, wording: Wording):
    """Return the verdict boxes, and by its label what page one says of each subject."""
    blocks = summary_section(result, wording).blocks
    found = next(block for block in blocks if isinstance(block, Verdicts)).boxes
    said = {
        label: str(text) for block in blocks if isinstance(block, Statements) for label, text in block.pairs
    }
    return found, said


@pytest.mark.parametrize("language", LANGUAGES)
def test_page_one_says_what_is_missing(language: str) -> None:
    """The box counts rolls and names the one, a statement says why; nothing calls it a pass."""
    wording = words(language)
    (_, left), said = boxes(moved(), wording)
    level = wording.inline("level")
    assert (left.verdict, left.passed) == (wording.word("not shown"), False)
    assert left.sentence == wording.word("rolls_within", count=2, rolls=3)
    assert wording.word("rolls_missing", list=f"R2 {level}") in left.details
    why = said[wording.word("say_not_measured")]
    assert f"R2 {level} ({wording.word('reason moved, not read again')})" in why
    assert "R2" not in said.get(wording.word("say_not_moved"), "")
    running = said[wording.word("say_running")]
    assert wording.word("running_unread", list=f"R2 {level}") in running
    assert wording.word("running_pass") not in running


def test_page_one_of_a_survey_of_one_round() -> None:
    """One box, and a note that there is no other; R3 is named in both aspects by its name alone."""
    (found,), said = boxes(in_progress(), words("en"))
    assert (found.title, found.dashed) == ("The line as surveyed", False)
    assert found.sentence == "1 of 3 rolls outside tolerance"
    assert found.details == (
        "the other 1 within tolerance",
        "Not measured: R3",
        "Checks not passed: level 0 of 2, parallel 1 of 1",
    )
    assert said["Not measured"] == (
        "Not measured as found: R3 (not read yet). "
        "Nothing was measured after the work (as left): this certificate states the line as it was found."
    )
    assert said["Running the line"].startswith("Outside tolerance: R2. Not measured: R3.")
    assert "Not re-measured" not in said


def test_many_missing_rolls_fit_the_box() -> None:
    """The first eight by name, the rest counted; the statement names them all."""
    names = tuple(f"R{number}" for number in range(1, 15))
    rolls = tuple(roll(name, 1000.0 * index, level_limit=None) for index, name in enumerate(names))
    taken = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.0), read("R2", 0.0, 0.0, "as_left"))
    (found, _), said = boxes(assess(solve_survey(survey(rolls, (taken,)))), words("en"))
    assert found.sentence == "1 of 13 rolls within tolerance"
    assert found.details[0].startswith("Not measured: R3 parallel, R4 parallel")
    assert found.details[0].endswith("R10 parallel and 4 more")
    assert "R14 parallel" in said["Not measured"]


@pytest.mark.parametrize("language", LANGUAGES)
def test_table_says_why_under_the_verdict(language: str) -> None:
    """No number, the verdict, the reason on a second line, and the limit that it would have been held to."""
    wording = words(language)
    content = compose(moved(), wording)
    tables = [b for s in content.sections for b in s.blocks if isinstance(b, Table)]
    level = next(table for table in tables if table.caption == wording.word("table_level"))
    row = next(row for row in level.rows if row[0] == "R2")
    reason = wording.word("reason moved, not read again")
    found, left = (
        [row[index] for index, column in enumerate(level.columns) if column.group == wording.word(which)]
        for which in ("as_found", "as_left")
    )
    assert left == ["–", "–", "–", f"{wording.word('not measured')}\n{reason}"]
    assert "–" not in found
    assert level.aside == wording.word("results_limit", limit=level.aside.partition(" ")[2])


def test_table_of_one_round_has_no_verdict_on_the_other() -> None:
    """No column of it, not a line of verdicts that there are none."""
    content = compose(in_progress(), words("en"))
    tables = [b for s in content.sections for b in s.blocks if isinstance(b, Table)]
    level = next(table for table in tables if table.caption.startswith("Level, positive"))
    assert {column.group for column in level.columns} == {"", "As found"}
    assert [row[-1] for row in level.rows] == ["pass", "pass", "not measured\nnot read yet"]


@pytest.mark.parametrize("language", LANGUAGES)
def test_work_sheet_asks_for_the_reading(language: str) -> None:
    """R2 first, with a line for its level, and the sheet counts it; it is not to be left as it is."""
    wording = words(language)
    sheet = work_sheet(moved(), wording)
    (group,) = sheet.groups
    (one,) = group.rolls
    assert (group.title, one.id) == (wording.word("sheet_read_first"), "R2")
    assert (one.steps, [blank.title for blank in one.blanks]) == ((), [wording.word("level")])
    assert wording.word("sheet_count_unread", unread=1) in sheet.subtitle
    assert sheet.rest[0] == wording.word("sheet_leave", list="R1, R3")
    text = "".join(
        page.extract_text() for page in PdfReader(BytesIO(work_sheet_pdf(moved(), wording, "A5"))).pages
    )
    assert wording.word("sheet_read_first") in text


def test_work_sheet_asks_for_both_ends_of_a_parallel_reading() -> None:
    """With the setup that it will belong to; R2 is moved, R3 read, R1 left."""
    sheet = work_sheet(in_progress(), words("en"))
    unread, moving = sheet.groups
    assert [blank.gaps[:3] for blank in unread.rolls[0].blanks] == [
        ("reading", "turned round", "by"),
        ("operator side", "drive side", "setup"),
    ]
    assert [one.id for one in moving.rolls] == ["R2"]
    assert sheet.rest[0] == "Leave as they are: R1."


def test_heights_are_asked_for_at_both_ends() -> None:
    """A line that is read over a level plane is read so again."""
    taken = sample("unwind_wide").survey
    heights = tuple(one for one in taken.level.heights if (one.roll, one.round) != ("T1", "as_left"))
    sheet = work_sheet(
        assess(solve_survey(replace(taken, level=replace(taken.level, heights=heights)))), words("en")
    )
    assert sheet.groups[0].rolls[0].blanks[0].gaps[:2] == ("operator side", "drive side")


def test_moves_say_of_which_roll_nobody_can_state_one() -> None:
    """Not that every roll passes."""
    result = moved()
    blocks = moves_section(result, numbers_for(result.survey, words("en").digits), words("en")).blocks
    texts = [text for block in blocks if isinstance(block, Paragraphs) for text in block.texts]
    assert texts == [
        "No reading tells how these stand now, so that nobody can say whether they need a move: R2 level."
    ]


@pytest.mark.parametrize("language", LANGUAGES)
def test_letter_states_the_rounds_that_there_were(language: str) -> None:
    """As left where it was surveyed, with what is missing; of one round only the line as found."""
    wording = words(language)
    both, one = letter_text(moved(), wording), letter_text(in_progress(), wording)
    left = " ".join(both.split())
    assert wording.word("not shown") in left
    assert f"R2 ({wording.inline('level')})" in left
    assert wording.word("not measured") not in " ".join(one.split())


@pytest.mark.parametrize("language", LANGUAGES)
def test_method_says_which_values_were_taken_over(language: str) -> None:
    """And nothing of that where there is no as-left round; that the reference was moved, where it was."""
    wording = words(language)
    texts = {name: _method(one, wording) for name, one in (("two", moved()), ("one", in_progress()))}
    assert texts["two"] != texts["one"]
    gone = setup("A", {}, *(read(n, 0.0, 0.0, when) for n in NAMES for when in ("as_found", "as_left")))
    away = assessed(gone, adjustments=(Adjustment("R1", "drive", downstream_mm=0.2),))
    assert len(_method(away, wording)) > len(texts["two"])


def _method(result: Assessment, wording: Wording) -> str:
    (block,) = method_section(result, wording).blocks
    assert isinstance(block, Paragraphs)
    return " ".join(block.texts)


def test_sample_surveys_lack_nothing() -> None:
    """Each states its moves and reads again what it moved."""
    for name in ("tutorial", "winder_inch", "coater_mm", "dryer_mixed", "unwind_wide"):
        taken: Survey = sample(name).survey
        assert not any(assess(solve_survey(taken)).missing.values()), name
