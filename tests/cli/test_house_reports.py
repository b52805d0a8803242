"""Every command that speaks to people does so in the language and the words of the house."""

import re
from pathlib import Path
from shutil import copytree

import pytest
from PIL import Image
from pypdf import PageObject, PdfReader

from certgen import resources
from certgen.resources import LANGUAGES
from tests.cli.run import run

SAMPLES = resources.sample_surveys()
DRYER = SAMPLES / "dryer_mixed.yaml"
BESIDE = ("solve", "moves", "study", "trend")  # take a house from certgen.toml too
COMMANDS = ("solve", "moves", "study", "compare", "trend")
PAGES = COMMANDS[1:]
# the words by which a report says what it is of
NAMES = ("number", "sheet_number", "study_of", "compare_of_one", "trend_of")
# a day as German and Spanish write it is no number
NO_NUMBERS = r"\b\d\d\.\d\d\.\d{4}\b"


def files(command: str) -> list[Path]:
    """Return the surveys that a command is tried with."""
    if command == "trend":
        return [SAMPLES / "winder_inch.yaml", SAMPLES / "winder_inch_next_year.yaml"]
    return [DRYER]


@pytest.fixture
def surveys(command: str, tmp_path: Path) -> list[Path]:
    """The surveys, each in a folder of its own."""
    paths = [tmp_path / f"visit {number}" / "line.yaml" for number, _ in enumerate(files(command), 1)]
    for path, file in zip(paths, files(command), strict=True):
        path.parent.mkdir()
        path.write_bytes(file.read_bytes())
    return paths


@pytest.fixture
def house(tmp_path: Path) -> Path:
    """A folder with own words in two languages."""
    folder = tmp_path / "house"
    for language, name in (("en", "Our report"), ("de", "Unser Bericht")):
        (folder / language).mkdir(parents=True)
        words = "".join(f"{key}: {name}\n" for key in NAMES)
        (folder / language / "words.yaml").write_text(words, "utf-8")
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
    english = printed(capsys, command, *files(command))
    text = printed(capsys, command, *files(command), "--lang", language)
    assert {"Roll", "drive", "within", "side"}.isdisjoint(text.split())
    assert re.findall(r"\d\.\d", re.sub(NO_NUMBERS, "", text)) == []
    assert len(re.findall(r"\d,\d", text)) == len(re.findall(r"\d\.\d", english))


@pytest.mark.parametrize("command", COMMANDS)
def test_colon_stands_as_the_language_has_it(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    """French sets it off from the word, on the same line."""
    text = run(capsys, command, *files(command), "--lang", "fr").out
    assert re.findall(r"\w: ", text) == []
    assert "\n:" not in text


@pytest.mark.parametrize("command", BESIDE)
def test_report_takes_the_house_beside_the_first_survey(
    command: str, surveys: list[Path], house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Words and language of certgen.toml; --lang stands over it."""
    assert house.is_dir()
    for survey, language in zip(surveys, ("de", "fr"), strict=False):
        text = f'[house]\ntemplates = "house"\nlanguage = "{language}"\n'
        survey.with_name("certgen.toml").write_text(text, "utf-8")
        copytree(house, survey.with_name("house"))
    assert "Unser Bericht" in printed(capsys, command, *surveys)
    assert "Our report" in printed(capsys, command, *surveys, "--lang", "en")


@pytest.mark.parametrize("command", COMMANDS)
def test_report_takes_the_templates_asked_for(
    command: str, house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A folder named on the command line; English where it says no language."""
    assert "Our report" in printed(capsys, command, *files(command), "--templates", house)


def test_comparison_takes_a_house_only_where_it_is_named(
    tmp_path: Path, house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What is compared may be somebody else's, with a house beside it."""
    survey = tmp_path / "line.yaml"
    survey.write_bytes(DRYER.read_bytes())
    (tmp_path / "certgen.toml").write_text('[house]\ntemplates = "house"\n', "utf-8")
    assert "Our report" not in printed(capsys, "compare", survey)
    assert "Our report" in printed(capsys, "compare", survey, "--templates", house)


@pytest.mark.parametrize("command", ["trend"])
def test_report_of_no_file_takes_the_house_of_this_folder(
    command: str,
    surveys: list[Path],
    house: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A line or a certificate in the register lies beside nothing."""
    monkeypatch.chdir(house.parent)
    for survey in surveys:
        assert run(capsys, "issue", survey, "--register", "kept").status == 0
    (house.parent / "certgen.toml").write_text('[house]\ntemplates = "house"\nlanguage = "de"\n', "utf-8")
    name = "Spunbond line 3 winder section" if command == "trend" else "CR-0457"
    assert "Unser Bericht" in printed(capsys, command, name, "--register", "kept")


@pytest.mark.parametrize("command", COMMANDS)
def test_data_are_the_same_in_every_language(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    """What machines read does not speak."""
    german = run(capsys, command, *files(command), "--json", "--lang", "de").out
    assert german == run(capsys, command, *files(command), "--json").out


@pytest.mark.parametrize("command", COMMANDS)
def test_house_that_is_not_there_is_told_before_anything_is_computed(
    command: str, surveys: list[Path], capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 2 and nothing printed."""
    ended = run(capsys, command, *surveys, "--templates", surveys[0].with_name("none"))
    assert (ended.status, ended.out) == (2, "")
    assert "no such folder" in ended.err


def test_mark_up_of_own_paragraphs_stays_off_the_terminal(
    house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Bold words and broken lines of a page are plain words here."""
    notes = "- <b>Stop</b> first.<br>Then ask.\n\n- Tags &amp; locks."
    (house / "en" / "moving_safety.j2").write_text(notes, "utf-8")
    text = printed(capsys, "moves", DRYER, "--templates", house)
    assert text.endswith("1 Stop first. Then ask. 2 Tags & locks.")


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
    command: str, surveys: list[Path], styled: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """As on the certificate."""
    first, *others = pages(command, capsys, *surveys, "--templates", styled, "--paper", "A5")
    assert "Our house Our street 1" in " ".join(first.extract_text().split())
    assert len(first.images) == 1
    assert others
    assert [page for page in others if "Our house" in page.extract_text() or page.images] == []


@pytest.mark.parametrize("command", PAGES)
def test_own_colours_are_those_of_report_and_plot(
    command: str, surveys: list[Path], styled: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The project's two colours are gone, from lines as well as from letters."""
    data = b"".join(
        p.get_contents().get_data() for p in pages(command, capsys, *surveys, "--templates", styled)
    )
    assert b".113725 .305882 .537255" not in data
    assert b".780392 .356863 .070588" not in data
    assert b".043137 .364706 .117647" in data
    assert b".541176 .109804 .486275" in data


@pytest.mark.parametrize("command", PAGES)
def test_paper_is_that_asked_for_or_of_the_house(
    command: str, surveys: list[Path], house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What the survey asks for beside A4 stands over that of the house."""
    (house / "house.toml").write_text('paper = "A5"\n', "utf-8")
    text = surveys[-1].read_text("utf-8")
    assert "paper: letter" in text
    widths = []
    for paper, asked in (("letter", ()), ("A4", ()), ("A4", ("--paper", "A3"))):
        surveys[-1].write_text(text.replace("paper: letter", f"paper: {paper}"), "utf-8")
        page = pages(command, capsys, *surveys, "--templates", house, *asked)[0]
        widths.append(round(page.mediabox.width))
    assert widths == [612, 420, 842]


@pytest.mark.parametrize("command", PAGES)
def test_letter_that_no_font_has_is_refused(
    command: str, surveys: list[Path], house: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 3 and no report, as for a certificate."""
    (house / "house.toml").write_text('letterhead = ["\u7d19"]\n', "utf-8")
    target = surveys[0].with_name("report.pdf")
    ended = run(capsys, command, *surveys, "--templates", house, "--pdf", target)
    assert (ended.status, target.exists()) == (3, False)
