"""`certgen new`."""

import json
from pathlib import Path

import pytest

from certgen.resources import templates
from certgen.survey.schema import FILE_NAME, schema
from tests.cli.run import run, start

SCAFFOLD = (templates() / "survey.yaml").read_bytes()


def test_new_writes_survey_and_schema(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The survey and, beside it, the schema that its first line names; nothing else is left there."""
    path = tmp_path / "line3.yaml"
    ended = run(capsys, "new", path)
    assert (ended.status, ended.err) == (0, "")
    assert path.read_bytes() == SCAFFOLD
    assert json.loads((tmp_path / FILE_NAME).read_text(encoding="utf-8")) == schema()
    assert sorted(one.name for one in tmp_path.iterdir()) == [FILE_NAME, "line3.yaml"]


PLACES = (
    "certificate.number",
    "contractor.name",
    "contractor.address",
    "contractor.contact",
    "customer.name",
)
PLACES += ("customer.address", "customer.contact", "line.name")


def test_new_survey_passes_its_check_as_a_scaffold(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """What is written can be checked at once; all that is said of it is what still stands as written."""
    path = tmp_path / "line3.yaml"
    run(capsys, "new", path)
    ended = run(capsys, "check", path)
    warnings = ended.err.splitlines()
    assert ended.status == 0
    assert all("this still stands as in the scaffold of `certgen new`" in line for line in warnings)
    assert [line.split(": ")[2] for line in warnings] == list(PLACES)


def test_new_survey_filled_in_is_no_scaffold(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """With firms, number and line of its own nothing is said, whatever readings are alike."""
    path, text = tmp_path / "line3.yaml", SCAFFOLD.decode()
    for name in (
        "HB-0112",
        "Hollow Beck",
        "3 Weir Lane",
        "office@",
        "Pinfold Paper",
        "90 Mill Road",
        "works@",
    ):
        text = text.replace(name, "own.")
    path.write_text(text.replace("Coater 2, unwind", "Winder"), encoding="utf-8")
    ended = run(capsys, "check", path)
    assert (ended.status, ended.err) == (0, "")


def test_new_survey_issued_unchanged_is_warned_of(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """A certificate made of the scaffold looks real."""
    path = tmp_path / "line3.yaml"
    run(capsys, "new", path)
    ended = run(capsys, "issue", path)
    assert ended.status == 0
    assert ended.err.count("as in the scaffold") == len(PLACES)


def test_new_shares_a_schema_that_is_there(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """A second survey in the same folder uses the same schema."""
    run(capsys, "new", tmp_path / "one.yaml")
    assert run(capsys, "new", tmp_path / "two.yaml").status == 0


def test_new_replaces_nothing_unasked(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """An existing survey stays, and no schema is written either."""
    path = tmp_path / "line3.yaml"
    path.write_text("mine", encoding="utf-8")
    ended = run(capsys, "new", path)
    assert ended.status == 4
    assert "--replace" in ended.err
    assert path.read_text(encoding="utf-8") == "mine"
    assert list(tmp_path.iterdir()) == [path]


def test_new_replaces_no_other_schema_unasked(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """A file of another content under the schema's name stays, and no survey is written."""
    other = tmp_path / FILE_NAME
    other.write_text("mine", encoding="utf-8")
    assert run(capsys, "new", tmp_path / "line3.yaml").status == 4
    assert list(tmp_path.iterdir()) == [other]
    assert other.read_text(encoding="utf-8") == "mine"


def test_new_replaces_when_asked(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """With --replace both are written anew."""
    path = tmp_path / "line3.yaml"
    path.write_text("mine", encoding="utf-8")
    (tmp_path / FILE_NAME).write_text("old", encoding="utf-8")
    assert run(capsys, "new", "--replace", path).status == 0
    assert path.read_bytes() == SCAFFOLD
    assert json.loads((tmp_path / FILE_NAME).read_text(encoding="utf-8")) == schema()


def test_new_needs_a_folder(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """A folder that does not exist is not made."""
    ended = run(capsys, "new", tmp_path / "absent" / "line3.yaml")
    assert ended.status == 4
    assert "does not exist" in ended.err


def test_new_keeps_the_name_of_the_schema(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """A survey cannot take the schema's name."""
    assert run(capsys, "new", tmp_path / FILE_NAME).status == 2
    assert list(tmp_path.iterdir()) == []


def test_new_takes_no_folder_for_a_file(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """A folder is not replaced by a file, and no schema is left behind."""
    folder = tmp_path / "line3.yaml"
    folder.mkdir()
    assert run(capsys, "new", "--replace", folder).status == 4
    assert list(tmp_path.iterdir()) == [folder]


def test_new_as_a_process(tmp_path: Path) -> None:
    """As a user starts it."""
    ended = start("new", tmp_path / "line3.yaml")
    assert (ended.status, ended.err) == (0, "")
    assert "certgen check" in ended.out
