"""`certgen check`."""

import json
from pathlib import Path

import pytest

from certgen.cli.check import command
from certgen.resources import sample_surveys, templates
from tests.cli.run import SOUND, run, start


def test_check_says_what_a_survey_holds(capsys: pytest.CaptureFixture[str]) -> None:
    """Line, rolls, monuments, setups, readings, rounds, reference and decision, on the output."""
    ended = run(capsys, "check", SOUND)
    assert (ended.status, ended.err) == (0, "")
    rows = dict(line.split(":", 1) for line in ended.out.splitlines()[:-1])
    assert {name: text.strip() for name, text in rows.items()} == {
        "line": "Test line",
        "rolls": "3",
        "monuments": "2",
        "setups": "2",
        "readings": "4 parallel, 4 level, 4 of monuments",
        "read": "as found and as left",
        "reference": "roll R1",
        "decision": "guarded",
    }
    assert ended.out.splitlines()[-1] == "No errors, 0 warnings."


def test_check_names_the_monuments_of_the_reference(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """An offset line is named by its monuments."""
    text = SOUND.read_text(encoding="utf-8").replace(
        "reference: {roll: R1}", "reference: {monuments: [M1, M2]}"
    )
    path = tmp_path / "line.yaml"
    path.write_text(
        text.replace("  coverage", "  squareness: {standard: 1 arcsec}\n  coverage"), encoding="utf-8"
    )
    assert "reference: monuments M1, M2" in run(capsys, "check", path).out


def test_check_warns_and_passes(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Warnings go to the error output and leave the exit status at 0."""
    path = tmp_path / "warned.yaml"
    path.write_text(
        SOUND.read_text(encoding="utf-8").replace("diameter: 150", "diameter: 2150"), encoding="utf-8"
    )
    ended = run(capsys, "check", path)
    assert ended.status == 0
    assert ended.err.startswith(f"{path}:28:66: warning: rolls[1].diameter: ")
    assert ended.out.endswith("No errors, 1 warning.\n")


@pytest.mark.parametrize("path", [templates() / "survey.yaml", *sorted(sample_surveys().glob("*.yaml"))])
def test_check_finds_no_error_in_what_travels_along(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The scaffold and the samples pass."""
    assert run(capsys, "check", path).status == 0


def contradicting(tmp_path: Path) -> Path:
    """Write the coater with a decimal slipped in the second reading of its first roll; return the path."""
    text = (sample_surveys() / "coater_mm.yaml").read_text("utf-8")
    sound, slipped = "{operator: 0, drive: 0.08}]", "{operator: 0, drive: 0.8}]"
    assert text.count(sound) == 1
    path = tmp_path / "coater.yaml"
    path.write_text(text.replace(sound, slipped), "utf-8")
    return path


@pytest.mark.parametrize("command", ["solve", "moves", "issue", "study"])
def test_check_warns_of_what_the_readings_contradict(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same lines as the commands that go on to results, one of them with the reading and its cause."""
    path = contradicting(tmp_path)
    warned = run(capsys, "check", path)
    assert warned.status == 0
    assert "setups[1].as_found.C1[1]: C1 as found (reading 2) in setup R contradicts" in warned.err
    assert "slipped decimal" in warned.err
    assert run(capsys, command, path).err.startswith(warned.err)
    told = json.loads(run(capsys, "check", "--json", path).out)["findings"]
    assert len(told) == warned.err.count("\n") == 2


def test_check_of_readings_without_an_answer_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Sag that cannot be told from slope: no fault of the file, and no results either."""
    near = "R2: [{at: 900, reading: 1 div}, {at: 900.000000001, reading: 1 div}]"
    path = tmp_path / "near.yaml"
    path.write_text(SOUND.read_text("utf-8").replace("R2: {at: 900, reading: 1 div}", near), "utf-8")
    ended = run(capsys, "check", path)
    assert ended.status == 0
    assert "no results yet: not determined by the readings" in ended.err


def test_check_json_says_the_same(capsys: pytest.CaptureFixture[str]) -> None:
    """The summary as JSON."""
    report = json.loads(run(capsys, "check", "--json", SOUND).out)
    assert report == {
        "format": "certgen-check/1",
        "file": str(SOUND),
        "ok": True,
        "findings": [],
        "summary": {
            "line": "Test line",
            "rolls": 3,
            "monuments": 2,
            "setups": 2,
            "readings": {"parallel": 4, "level": 4, "monuments": 4},
            "rounds": ["as_found", "as_left"],
            "reference": "R1",
            "decision": "guarded",
        },
    }


def test_check_json_of_a_faulty_survey(capsys: pytest.CaptureFixture[str]) -> None:
    """A refused survey is reported on the output as well, with exit status 1."""
    path = SOUND.with_name("slipped_unit.yaml")
    ended = run(capsys, "check", "--json", path)
    report = json.loads(ended.out)
    assert (ended.status, ended.err, report["ok"], report["summary"]) == (1, "", False, None)
    assert report["findings"] == [
        {
            "severity": "error",
            "line": 44,
            "column": 32,
            "where": "setups[0].as_found.R2.drive",
            "message": "this is over 1 m",
            "got": "-1.2 m",
            "hint": "Check the number and its unit: has a unit slipped?",
        }
    ]


def test_check_json_of_no_file(capsys: pytest.CaptureFixture[str]) -> None:
    """Even where there is no file, the output is JSON."""
    ended = run(capsys, "check", "--json", "absent.yaml")
    assert ended.status == 2
    told = json.loads(ended.out)
    assert (told["format"], told["exit_code"]) == ("certgen-error/1", 2)
    assert told["error"].startswith("absent.yaml: there is no such file.")


def test_check_counts_errors_and_warnings(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The last line counts."""
    text = SOUND.read_text(encoding="utf-8").replace("diameter: 150", "diameter: 2150")
    path = tmp_path / "both.yaml"
    path.write_text(text.replace("revision: 0", "revision: x"), encoding="utf-8")
    assert run(capsys, "check", path).err.splitlines()[-1] == "1 error, 1 warning; nothing was written."


def test_check_help_shows_an_example() -> None:
    """The help ends in examples to copy."""
    assert command.epilog is not None
    assert "certgen check line3.yaml" in command.epilog


def test_check_as_a_process() -> None:
    """As a user starts it: findings on the error output, exit status 1, no traceback."""
    ended = start("check", SOUND.with_name("several_faults.yaml"))
    assert (ended.status, ended.out) == (1, "")
    assert ended.err.count("\n") == 7
    assert "Traceback" not in ended.err
