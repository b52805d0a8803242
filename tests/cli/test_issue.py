"""`certgen issue`: whole or not at all, and never over something that exists."""

from pathlib import Path

import pytest

from certgen import resources
from certgen.cli import main

TUTORIAL = resources.sample_surveys() / "tutorial.yaml"


def run(*arguments: object) -> int:
    """Run certgen in this process; return its exit status."""
    with pytest.raises(SystemExit) as ended:
        main([str(argument) for argument in arguments])
    return int(ended.value.code or 0)


def test_issue_writes_beside_the_survey(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without -o the PDF has the name of the survey; the verdicts are printed."""
    survey = tmp_path / "line.yaml"
    survey.write_bytes(TUTORIAL.read_bytes())
    assert run("issue", survey) == 0
    assert (tmp_path / "line.pdf").read_bytes().startswith(b"%PDF-")
    assert "as found fail, as left pass" in capsys.readouterr().out


def test_issue_leaves_an_existing_output_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 4 and the old bytes, until --replace is given."""
    target = tmp_path / "old.pdf"
    target.write_bytes(b"old")
    assert run("issue", TUTORIAL, "-o", target) == 4
    assert target.read_bytes() == b"old"
    assert "--replace" in capsys.readouterr().err
    assert run("issue", TUTORIAL, "-o", target, "--replace") == 0
    assert target.read_bytes().startswith(b"%PDF-")
    assert list(tmp_path.iterdir()) == [target]


def test_issue_of_a_faulty_survey_writes_nothing(tmp_path: Path) -> None:
    """Exit 1 and no file."""
    path = tmp_path / "faulty.yaml"
    path.write_text(TUTORIAL.read_text("utf-8").replace("decision:", "decison:"), "utf-8")
    assert run("issue", path, "-o", tmp_path / "out.pdf") == 1
    assert list(tmp_path.iterdir()) == [path]


def test_issue_into_a_missing_folder_is_exit_4(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The message names the folder."""
    assert run("issue", TUTORIAL, "-o", tmp_path / "missing" / "out.pdf") == 4
    assert "missing" in capsys.readouterr().err


def test_issue_refuses_an_unknown_paper() -> None:
    """Wrong usage is exit 2."""
    assert run("issue", TUTORIAL, "--paper", "foolscap") == 2
