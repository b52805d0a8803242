"""Every command that speaks to people does so in the language and the words of the house."""

import re
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PageObject, PdfReader

from certgen import resources
from certgen.certificate.languages import LANGUAGES
from tests.cli.run import run

DRYER = resources.sample_surveys() / "dryer_mixed.yaml"
COMMANDS = ("solve", "moves", "study")
PAGES = ("moves", "study")
# a day as German and Spanish write it is no number
NO_NUMBERS = r"\b\d\d\.\d\d\.\d{4}\b"


@pytest.fixture
def survey(tmp_path: Path) -> Path:
    """A survey in a folder of its own."""
    (tmp_path / "surveys").mkdir()
    path = tmp_path / "surveys" / "line.yaml"
    path.write_bytes(DRYER.read_bytes())
    return path


@pytest.fixture
def house(tmp_path: Path) -> Path:
    """A folder with own words in two languages."""
    folder = tmp_path / "house"
    words = 'number: "{} {{{{ number }}}}, {{{{ revision }}}}"\nstudy_of: "{} {{{{ number }}}}"\n'
    for language, name in (("en", "Report"), ("de", "Bericht")):
        (folder / language).mkdir(parents=True)
        (folder / language / "words.yaml").write_text(words.format(name, name), "utf-8")
    return folder


def printed(capsys: pytest.CaptureFixture[str], *arguments: object) -> str:
    """Return what a run prints, white space folded."""
    ended = run(capsys, *arguments)
    assert ended.status == 0, ended.err
    return " ".join(ended.out.split())


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize("language", [one for one in LANGUAGES if one != "en"])
def test_report_speaks_the_language_asked_for(
    command: str, language: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its own words, and the comma in every number."""
    text, english = printed(capsys, command, DRYER, "--lang", language), printed(capsys, command, DRYER)
    assert {"Roll", "drive", "within", "side"}.isdisjoint(text.split())
    assert re.findall(r"\d\.\d", re.sub(NO_NUMBERS, "", text)) == []
    assert len(re.findall(r"\d,\d", text)) == len(re.findall(r"\d\.\d", english))


@pytest.mark.parametrize("command", COMMANDS)
def test_colon_stands_as_the_language_has_it(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    """French sets it off from the word, on the same line."""
    text = run(capsys, command, DRYER, "--lang", "fr").out
    assert re.findall(r"\w: ", text) == []
    assert "\n:" not in text


@pytest.mark.parametrize("command", COMMANDS)
def test_report_takes_the_house_beside_the_survey(
    command: str, survey: Path, house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Words and language of certgen.toml; --lang stands over it."""
    assert house.is_dir()
    beside = survey.with_name("certgen.toml")
    beside.write_text('[house]\ntemplates = "../house"\nlanguage = "de"\n', "utf-8")
    assert "Bericht CR-0457" in printed(capsys, command, survey)
    assert "Report CR-0457" in printed(capsys, command, survey, "--lang", "en")


@pytest.mark.parametrize("command", COMMANDS)
def test_report_takes_the_templates_asked_for(
    command: str, house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A folder named on the command line; English where it says no language."""
    assert "Report CR-0457" in printed(capsys, command, DRYER, "--templates", house)


@pytest.mark.parametrize("command", COMMANDS)
def test_data_are_the_same_in_every_language(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    """What machines read does not speak."""
    german = run(capsys, command, DRYER, "--json", "--lang", "de").out
    assert german == run(capsys, command, DRYER, "--json").out


@pytest.mark.parametrize("command", COMMANDS)
def test_house_that_is_not_there_is_told_before_anything_is_computed(
    command: str, survey: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 2 and nothing printed."""
    ended = run(capsys, command, survey, "--templates", survey.with_name("none"))
    assert (ended.status, ended.out) == (2, "")
    assert "no such folder" in ended.err


def test_mark_up_of_own_paragraphs_stays_off_the_terminal(
    house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Bold words and broken lines of a page are plain words here."""
    notes = "- <b>Stop</b> first.<br>Then ask.\n\n- Tags &amp; locks."
    (house / "en" / "moving_safety.j2").write_text(notes, "utf-8")
    text = printed(capsys, "moves", DRYER, "--templates", house)
    assert text.endswith("- Stop first. Then ask. - Tags & locks.")


LETTERHEAD = 'letterhead = ["Our house", "Our street 1"]\nlogo = "logo.png"\n'
COLOURS = 'colours = {found = "#8A1C7C", left = "#0b5d1e"}\n'


def pages(command: str, capsys: pytest.CaptureFixture[str], *arguments: object) -> list[PageObject]:
    """Return the pages of a report."""
    target = Path(str(arguments[0])).with_name("report.pdf")
    assert run(capsys, command, *arguments, "--pdf", target, "--replace").status == 0
    return list(PdfReader(target).pages)


@pytest.fixture
def styled(house: Path) -> Path:
    """A folder with letterhead, logo and colours."""
    Image.new("RGB", (40, 20), "#123456").save(house / "logo.png")
    (house / "house.toml").write_text(LETTERHEAD + COLOURS, "utf-8")
    return house


@pytest.mark.parametrize("command", PAGES)
def test_letterhead_and_logo_stand_on_the_first_page_only(
    command: str, survey: Path, styled: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As on the certificate."""
    first, *others = pages(command, capsys, survey, "--templates", styled, "--paper", "A5")
    assert "Our house\nOur street 1" in first.extract_text()
    assert len(first.images) == 1
    assert others
    assert [page for page in others if "Our house" in page.extract_text() or page.images] == []


@pytest.mark.parametrize("command", PAGES)
def test_own_colours_are_those_of_report_and_plot(
    command: str, survey: Path, styled: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The project's two colours are gone, from lines as well as from letters."""
    data = b"".join(
        p.get_contents().get_data() for p in pages(command, capsys, survey, "--templates", styled)
    )
    assert b".113725 .305882 .537255" not in data
    assert b".780392 .356863 .070588" not in data
    assert b".043137 .364706 .117647" in data
    assert b".541176 .109804 .486275" in data


@pytest.mark.parametrize("command", PAGES)
def test_paper_is_that_asked_for_or_of_the_house(
    command: str, survey: Path, house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What the survey asks for beside A4 stands over that of the house."""
    (house / "house.toml").write_text('paper = "A5"\n', "utf-8")
    text = survey.read_text("utf-8")
    widths = []
    for paper, asked in (("letter", ()), ("A4", ()), ("A4", ("--paper", "A3"))):
        survey.write_text(text.replace("paper: letter", f"paper: {paper}"), "utf-8")
        page = pages(command, capsys, survey, "--templates", house, *asked)[0]
        widths.append(round(page.mediabox.width))
    assert widths == [612, 420, 842]


@pytest.mark.parametrize("command", PAGES)
def test_letter_that_no_font_has_is_refused(
    command: str, survey: Path, house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 3 and no report, as for a certificate."""
    (house / "house.toml").write_text('letterhead = ["\u7d19"]\n', "utf-8")
    target = survey.with_name("report.pdf")
    ended = run(capsys, command, survey, "--templates", house, "--pdf", target)
    assert (ended.status, target.exists()) == (3, False)
