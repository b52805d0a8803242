"""Page one, the letters of the annexes, and the places of a column."""

from functools import cache
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from certgen import resources
from certgen.assessment.assessment import ASPECTS, Assessment
from certgen.cli import main
from certgen.document.compose import ANNEXES, annex_letters, compose, contents
from certgen.document.content import Content, Table, Verdicts
from certgen.document.first_page import fits
from certgen.errors import WrongUsage
from certgen.pdf.pdf_document import certificate_pdf
from certgen.resources import LANGUAGES
from certgen.survey.survey import Paper
from certgen.wording.columns import column_places
from certgen.wording.wording import Wording
from tests.certificate.samples import WORDING, sample
from tests.certificate.test_worksheet import found_only

NAMES = ("tutorial", "winder_inch", "coater_mm", "dryer_mixed", "unwind_wide")
NO_PASS = {"fail", "conditional pass", "conditional fail"}


def not_passed(assessment: Assessment) -> set[str]:
    """Return the rolls that do not plainly pass in a round, counted here from the verdicts."""
    return {
        roll.id
        for roll in assessment.rolls
        for name in ASPECTS
        for which in assessment.surveyed
        if roll.aspect(name).verdict(which) in NO_PASS
    }


def named(content: Content) -> set[str]:
    """Return the words of the table of rolls that did not pass: first cells and note."""
    tables = [block for block in content.sections[0].blocks if isinstance(block, Table)]
    assert len(tables) == 1
    words = {str(row[0]) for row in tables[0].rows}
    return words | {word.strip("(,.:;") for word in tables[0].note.split()}


@pytest.mark.parametrize("name", NAMES)
def test_no_roll_that_did_not_pass_vanishes_however_full_the_page(name: str) -> None:
    """In the table or by name in its note, on every rung; also where the line was only found."""
    for assessment in (sample(name), found_only(name)):
        wanted = not_passed(assessment)
        assert wanted
        rungs = list(contents(assessment, WORDING))
        assert len(rungs) == len(list(fits()))
        assert all(wanted <= named(content) for content in rungs)


def test_one_round_is_a_report_with_one_verdict() -> None:
    """Its title says so, its line is solid, and no column is of another round."""
    content = compose(found_only("dryer_mixed"), WORDING)
    assert content.title == "Roll alignment survey report"
    (box,) = next(b for b in content.sections[0].blocks if isinstance(b, Verdicts)).boxes
    assert (box.title, box.dashed) == ("The line as surveyed", False)
    (table,) = (b for b in content.sections[0].blocks if isinstance(b, Table))
    titles = [column.title for column in table.columns]
    assert "As left" not in titles
    assert titles[-1] == WORDING.word("to_move")


@pytest.mark.parametrize(
    ("text", "letters"),
    [("none", ""), ("ALL", ANNEXES), ("e, a,c,a", "ACE"), ("H", "H")],
)
def test_annexes_are_asked_for_by_their_letters(text: str, letters: str) -> None:
    """In any order and case, each once."""
    assert annex_letters(text) == letters


@pytest.mark.parametrize("text", ["", "Z", "A;C", "AC", "all,A"])
def test_letters_of_no_annex_are_refused(text: str) -> None:
    """Nothing is left out or printed by mistake."""
    with pytest.raises(WrongUsage, match="There is no annex"):
        annex_letters(text)


@pytest.mark.parametrize(
    ("sizes", "places"),
    [
        ((0.0071, 0.0104), 4),
        ((0.0080, 0.0187), 4),  # 0.0080 at two digits, 0.0187 at three
        ((0.0080, 0.187), 3),  # the smallest asks for four places; 0.1870 would have four digits
        ((0.64, 1.16), 2),
        ((0.0996,), 2),  # rounds up to 0.10
        ((12.0, 340.0), 0),
        ((0.0, 0.035), 3),  # the reference has none
        ((), 3),
    ],
)
def test_places_of_a_column_are_those_of_its_smallest_uncertainty(
    sizes: tuple[float, ...], places: int
) -> None:
    """At two significant digits, as long as the largest keeps at most three."""
    assert column_places(sizes) == places


@pytest.mark.parametrize("draft", [True, False])
def test_draft_carries_its_mark(draft: bool) -> None:
    """A certificate that is none has it for every page; one that is has none."""
    assert compose(sample("tutorial"), WORDING, draft=draft).draft == (WORDING.word("draft") if draft else "")


@cache
def printed(name: str, language: str, paper: Paper) -> list[str]:
    """Return the text of every page of a sample's certificate."""
    pdf = certificate_pdf(sample(name), Wording(resources.templates(), language), paper)
    return [page.extract_text() for page in PdfReader(BytesIO(pdf)).pages]


@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", NAMES)
def test_page_one_is_one_page_with_the_signatures_on_it(name: str, language: str, paper: Paper) -> None:
    """From the title to who signs and what is reproduced; the line drawn true to scale begins page two."""
    wording = Wording(resources.templates(), language)
    first, second, *_ = printed(name, language, paper)
    for word in ("surveyed_by", "approved_by", "verify", "say_sure", "say_proof"):
        assert wording.word(word) in first
    assert wording.word("section_diagram") in second
    assert wording.word("surveyed_by") not in second


@pytest.mark.parametrize("paper", ["A4", "letter"])
@pytest.mark.parametrize("language", LANGUAGES)
def test_twelve_rolls_take_ten_pages_at_most(language: str, paper: Paper) -> None:
    """The body takes five at most; on the shorter paper the longer words of others take one more page."""
    wording = Wording(resources.templates(), language)
    pages = printed("winder_inch", language, paper)
    annex = wording.word("annex_title", letter="A", title=wording.word("section_adjacent"))
    start = next(
        index for index, text in enumerate(pages) if " ".join(annex.split()) in " ".join(text.split())
    )
    assert start <= 5
    assert len(pages) <= (10 if paper == "A4" or language == "en" else 11)


def test_command_prints_the_annexes_that_are_asked_for(tmp_path: Path) -> None:
    """By their letters; what is not printed is named on page one, and travels inside all the same."""
    survey, out = resources.sample_surveys() / "winder_inch.yaml", tmp_path / "c.pdf"
    with pytest.raises(SystemExit) as ended:
        main(["issue", str(survey), "-o", str(out), "--annexes", "a, E"])
    assert ended.value.code == 0
    reader = PdfReader(out)
    texts = [" ".join(page.extract_text().split()) for page in reader.pages]
    assert "Annexes Not printed: B (Figures behind the verdicts), C (" in texts[0]
    heads = [letter for letter in ANNEXES if any(f"Annex {letter}: " in text for text in texts[1:])]
    assert heads == ["A", "E"]
    assert set(reader.attachments) == {"survey.yaml", "results.json"}


def test_draft_is_marked_on_every_page_and_never_registered(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It verifies, and says what it is; a register takes none, and none is signed."""
    survey, out = str(resources.sample_surveys() / "tutorial.yaml"), str(tmp_path / "draft.pdf")
    assert status("issue", survey, "-o", out, "--draft") == 0
    assert all("Draft, not issued" in page.extract_text() for page in PdfReader(out).pages)
    capsys.readouterr()
    assert status("verify", out) == 0
    assert "It is a draft: nobody has issued it" in capsys.readouterr().out
    where = str(tmp_path / "register")
    assert status("register", "add", "--register", where, out) == 5
    assert "a draft is not registered" in capsys.readouterr().err
    other = str(tmp_path / "other.pdf")
    assert status("issue", survey, "-o", other, "--draft", "--register", where) == 2
    assert not Path(other).exists()


def status(*arguments: str) -> int:
    """Run certgen in this process; return its exit status."""
    with pytest.raises(SystemExit) as ended:
        main(list(arguments))
    return int(ended.value.code or 0)
