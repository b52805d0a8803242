"""What a failed proof looks like on paper: a box on page one, marks at the rolls, moves that wait."""

from io import BytesIO

import pytest
from pypdf import PdfReader

from certgen import resources
from certgen.cli.moves_text import sheet_text
from certgen.document.compose import compose, letter_text
from certgen.document.content import Content, Notice, Paragraphs, Table
from certgen.document.uncertainty_section import all_conform_texts
from certgen.document.work_sheet import work_sheet
from certgen.figures.bar_views import bar_views
from certgen.pdf.pdf_document import certificate
from certgen.resources import LANGUAGES
from certgen.web.html_page import certificate_html
from certgen.wording.wording import Wording
from tests.assessment.test_doubt import assessed, eighteen, scattered
from tests.certificate.samples import WORDING, sample
from tests.simulate.blunders import from_two_setups
from tests.simulate.records import read, roll, setup, survey


def notice(content: Content) -> Notice | None:
    """Return the box of page one."""
    boxes = [block for block in content.sections[0].blocks if isinstance(block, Notice)]
    return boxes[0] if boxes else None


def marked_rows(content: Content, word: str) -> set[str]:
    """Return the rolls whose verdict bears a word on a line of its own, in the tables of results."""
    return {
        row[0]
        for section in content.sections
        for block in section.blocks
        if isinstance(block, Table)
        and any(column.title == WORDING.word("verdict") for column in block.columns)
        for row in block.rows
        if any(word in cell.split("\n") for cell in row)
    }


def test_box_names_reading_rolls_and_what_settles_it() -> None:
    """One sign lost among eighteen rolls: setup, roll and round, its likely cause, and R9 alone in doubt."""
    content = compose(assessed(eighteen()), WORDING)
    what, rolls, settled = notice(content).texts
    assert what.startswith("Parallel: setup B, R9, as found does not fit the other readings")
    assert "1.260 mm" in what
    assert "ends swapped, or the sign turned" in what
    assert rolls.startswith("In doubt until that is settled: parallel: R9.")
    assert "read again" in settled
    assert marked_rows(content, "in doubt") == {"R9"}


def test_box_says_whose_each_cause_is_where_readings_are_tied() -> None:
    """One of two readings explains it by a slipped decimal; or both might, at odds that do not tell."""
    one = notice(compose(assessed(from_two_setups(0.21, -9.45)), WORDING)).texts[0]
    before, after = one.split(" It seems to be off")
    assert before.index("setup B, R2") < before.index("setup A, R2")
    assert "setup A" not in after
    assert one.endswith("It looks like this: setup B, R2, as found: a slipped decimal.")
    both = notice(compose(assessed(from_two_setups(2.055, -0.945)), WORDING)).texts[0]
    assert both.endswith(
        "setup A, R2, as found: a slipped decimal or setup B, R2, as found: ends swapped, or the sign turned."
    )


def test_probability_that_all_conform_is_not_to_be_relied_on_in_doubt() -> None:
    """It takes the readings as they are, and says so."""
    doubtful, sure = (list(all_conform_texts(assessed(eighteen(lost)), WORDING)) for lost in (True, False))
    assert doubtful[-1].startswith(
        "These probabilities take the readings that contradict each other as they are"
    )
    assert len(doubtful) == len(sure) + 1


def test_sound_survey_has_no_box_and_no_mark() -> None:
    """None of the samples contradicts itself."""
    for name in ("tutorial", "winder_inch", "coater_mm", "dryer_mixed", "unwind_wide"):
        content = compose(sample(name), WORDING)
        assert notice(content) is None
        assert marked_rows(content, "in doubt") == set()


def test_box_stands_on_the_first_page_in_print_and_on_screen() -> None:
    """Above everything but the verdicts; the page for a browser has it too."""
    found = assessed(eighteen())
    pdf = certificate(found, WORDING, "A4").pdf
    first = " ".join(PdfReader(BytesIO(pdf)).pages[0].extract_text().split())
    assert "Readings that contradict each other" in first
    assert "setup B, R9, as found" in first
    page = certificate_html(found, compose(found, WORDING), WORDING)
    assert '<div class="verdict notice">' in page


def test_drawing_says_in_doubt_and_draws_no_move() -> None:
    """Under R9 stands no verdict to be taken for settled, and no arrow asks for a move."""
    found = assessed(eighteen())
    texts = [text for view in bar_views(found, "parallel", WORDING, 500.0) for text in words(view.drawing)]
    assert texts.count("in doubt") == 1
    amounts = [text for text in texts if text.startswith(("+", "\N{MINUS SIGN}"))]
    assert len(amounts) == 1


def words(drawing: object) -> list[str]:
    """Return every text of a drawing."""
    found: list[str] = []
    for one in getattr(drawing, "contents", ()):
        found += [one.text] if hasattr(one, "text") else words(one)
    return found


@pytest.mark.parametrize("language", LANGUAGES)
def test_sheet_gives_no_order_for_a_move_that_waits(language: str) -> None:
    """No step to tick, nothing to stop at, no line to fill in: only what to read first, by setup and roll."""
    wording = Wording(resources.templates(), language)
    sheet = work_sheet(assessed(eighteen()), wording)
    cards = {one.id: one for group in sheet.groups for one in group.rolls}
    held = cards["R9"]
    assert (held.steps, held.bearings) == ((), ())
    (remark,) = held.remarks
    assert remark.strong
    assert f"{wording.inline('setup')} B, R9, {wording.inline('as_found')}" in remark.text
    assert wording.word("in_doubt") in held.verdicts
    assert cards["R4"].steps
    assert wording.word("sheet_count_held", held=1) in sheet.subtitle
    text = sheet_text(sheet, wording)
    assert text.count("[ ]") == len(cards["R4"].steps)


def test_sheet_says_where_not_even_the_direction_is_certain() -> None:
    """Scatter larger than stated, no reading that stands out: R2 waits, R3 is moved; all are marked."""
    found = scattered(0.033, 0.3)
    cards = {one.id: one for group in work_sheet(found, WORDING).groups for one in group.rolls}
    assert "not even the direction of the move is certain" in cards["R2"].remarks[0].text
    assert cards["R3"].steps
    content = compose(found, WORDING)
    assert "scatter 2.4 times as much" in notice(content).texts[0]
    assert marked_rows(content, "in doubt") == {f"R{number}" for number in range(2, 8)}


def test_reading_that_nothing_checks_is_to_be_read_once_more() -> None:
    """One entry for both ends of a seating, on the card of a roll that is to be moved."""
    once = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.5))
    found = assessed(survey((roll("R1"), roll("R2")), (once,)))
    ((card,),) = (group.rolls for group in work_sheet(found, WORDING).groups)
    asked = "Parallel: not checked by another reading: setup A, R2, as found. Read once more before moving."
    assert [one.strong for one in card.remarks if one.text == asked] == [True]


def test_proof_says_how_far_it_reaches() -> None:
    """The winder reads most rolls once: how many readings are checked, and which are not, gathered."""
    content = compose(sample("winder_inch"), WORDING)
    texts = [
        text
        for section in content.sections
        for block in section.blocks
        if isinstance(block, Paragraphs)
        for text in block.texts
        if "readings are checked by others" in text
    ]
    assert len(texts) == 2
    assert "setup A, as found: R2, R3, R4; setup A, as left: R2; setup A: M1, M2;" in texts[1]


def test_box_of_a_long_line_stays_on_page_one() -> None:
    """Three hundred rolls in doubt as a whole are named as first and last; every table marks each."""
    found = scattered(count=300)
    content = compose(found, WORDING)
    assert "parallel: R2 \N{EN DASH} R300" in notice(content).texts[1]
    assert len(marked_rows(content, "in doubt")) == 299
    pages = PdfReader(BytesIO(certificate(found, WORDING, "A4").pdf)).pages
    assert "R300" in pages[0].extract_text()


@pytest.mark.parametrize("language", LANGUAGES)
def test_letter_says_that_results_are_in_doubt(language: str) -> None:
    """Where the proof failed, and only there; it sends the reader to page one."""
    wording = Wording(resources.templates(), language)
    doubtful, sure = (letter_text(assessed(eighteen(lost)), wording) for lost in (True, False))
    more = [line for line in doubtful.splitlines() if line not in sure.splitlines()]
    assert len("\n".join(more)) > 100
    assert len(doubtful) > len(sure) + 100


def test_small_probability_is_printed_with_one_sign() -> None:
    """As "p < 0.001" and as "p = 0.012"."""
    assert WORDING.word("p_low", p="< 0.001").count("(p < 0.001)") == 1
    assert WORDING.word("p_low", p="0.012").count("(p = 0.012)") == 1
