"""`certgen moves`: the plan as text, as JSON and as a sheet to take to the line."""

import json
from pathlib import Path

import pytest

from certgen import resources
from tests.cli.run import SOUND, run

DRYER = resources.sample_surveys() / "dryer_mixed.yaml"
TUTORIAL = resources.sample_surveys() / "tutorial.yaml"


def test_moves_lists_the_rolls_to_move_first(capsys: pytest.CaptureFixture[str]) -> None:
    """Only D4 is left failing; the others are left alone; safety comes last."""
    status, out, err = run(capsys, "moves", DRYER)
    assert (status, err) == (0, "")
    move, leave, safety = (
        out.index(text) for text in ("Dryer cylinder 4", "Leave as they are", "lock out and tag out")
    )
    assert move < leave < safety
    assert "D4" not in out[leave:safety]
    assert "[ ] Move downstream, drive side: 0.200 mm / 7.9 thou" in out
    assert "full move required 0.476 mm / 18.8 thou; only 0.200 mm" in out


def test_moves_of_a_line_that_passes_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    """And the reminder is printed all the same."""
    status, out, _ = run(capsys, "moves", TUTORIAL)
    assert status == 0
    assert "No roll needs a move." in out
    assert "Local codes" in out


def test_moves_as_json_has_the_names_of_the_results(capsys: pytest.CaptureFixture[str]) -> None:
    """The same moves as in the results, for the rolls that need them."""
    found = json.loads(run(capsys, "moves", "--json", DRYER).out)
    whole = json.loads(run(capsys, "solve", "--json", DRYER).out)
    moves = {one["id"]: one["moves"] for one in whole["rolls"]}
    assert found["format"] == "certgen-moves/1"
    assert [one["id"] for one in found["move"]] == ["D4"]
    assert found["move"][0]["moves"] == moves["D4"]
    assert found["move"][0]["setup"] == "1"
    assert sorted([*found["leave"], "D4"]) == sorted(moves)


def test_moves_writes_a_sheet_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A sheet that exists is left alone until --replace is given."""
    sheet = tmp_path / "sheet.pdf"
    assert run(capsys, "moves", DRYER, "--pdf", sheet).status == 0
    first = sheet.read_bytes()
    assert first.startswith(b"%PDF-")
    status, out, err = run(capsys, "moves", DRYER, "--pdf", sheet)
    assert (status, out) == (4, "")
    assert "--replace" in err
    assert run(capsys, "moves", DRYER, "--pdf", sheet, "--replace").status == 0
    assert sheet.read_bytes() == first
    assert list(tmp_path.iterdir()) == [sheet]


def test_moves_into_a_missing_folder_is_exit_4(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing is left behind."""
    assert run(capsys, "moves", DRYER, "--pdf", tmp_path / "none" / "sheet.pdf").status == 4
    assert list(tmp_path.iterdir()) == []


def test_moves_of_a_faulty_survey_is_exit_1(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No plan and no sheet from a survey with faults."""
    faulty, sheet = tmp_path / "faulty.yaml", tmp_path / "sheet.pdf"
    faulty.write_text(SOUND.read_text("utf-8").replace("adjustable: both", "adjustable: bth"), "utf-8")
    status, out, _ = run(capsys, "moves", faulty, "--pdf", sheet)
    assert (status, out, sheet.exists()) == (1, "", False)


def test_moves_are_as_wide_as_a_terminal(capsys: pytest.CaptureFixture[str]) -> None:
    """No line is longer than a hundred letters."""
    assert max(map(len, run(capsys, "moves", DRYER).out.splitlines())) <= 100
