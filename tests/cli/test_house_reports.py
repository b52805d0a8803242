"""Every command that speaks to people does so in the language and the words of the house."""

import re
from pathlib import Path

import pytest

from certgen import resources
from certgen.certificate.languages import LANGUAGES
from tests.cli.run import run

DRYER = resources.sample_surveys() / "dryer_mixed.yaml"
COMMANDS = ("solve", "moves", "study")
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
