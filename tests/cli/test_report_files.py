"""What travels inside a report comes out again, and nobody takes a report for a certificate."""

import json
from pathlib import Path

import pytest

from certgen.resources import sample_surveys
from tests.cli.run import run

WINDER = [sample_surveys() / f"winder_inch{suffix}.yaml" for suffix in ("", "_next_year", "_third_year")]
SURVEYS = {"moves": WINDER[:1], "study": WINDER[:1], "compare": WINDER[:2], "trend": WINDER}
CALLED = {
    "moves": "a work sheet for the moves",
    "study": "a reference study",
    "compare": "a comparison of surveys",
    "trend": "a trend over several visits",
}


@pytest.fixture
def report(command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    """A report, just written."""
    target = tmp_path / "report.pdf"
    assert run(capsys, command, *SURVEYS[command], "--pdf", target).status == 0
    return target


@pytest.mark.parametrize("command", SURVEYS)
def test_extract_gives_back_what_the_report_was_made_from(
    command: str, report: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The surveys in the order of time, and from them the same results."""
    inside = tmp_path / "inside"
    inside.mkdir()
    ended = run(capsys, "extract", report, "-o", inside)
    assert ended.status == 0
    assert sorted(ended.out.split()[1::4]) == sorted(f"{path}," for path in inside.iterdir())
    surveys = sorted(inside.glob("*.yaml"))
    assert [path.read_bytes() for path in surveys] == [path.read_bytes() for path in SURVEYS[command]]
    found = json.loads((inside / "results.json").read_bytes())
    assert found.pop("printed")["format"] == "certgen-report/1"
    assert found == json.loads(run(capsys, command, *surveys, "--json").out)


@pytest.mark.parametrize("command", ["trend"])
def test_extract_leaves_files_that_exist_alone(
    command: str, report: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """All of them, until --replace is given."""
    (tmp_path / "survey-2.yaml").write_bytes(b"mine")
    ended = run(capsys, "extract", report, "-o", tmp_path)
    assert (ended.status, ended.out) == (4, "")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["report.pdf", "survey-2.yaml"]
    assert run(capsys, "extract", report, "-o", tmp_path, "--replace").status == 0
    assert (tmp_path / "survey-2.yaml").read_bytes() == SURVEYS[command][1].read_bytes()


@pytest.mark.parametrize("command", SURVEYS)
def test_verify_says_what_a_report_is(command: str, report: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 5: there is nothing to verify it by."""
    ended = run(capsys, "verify", report)
    assert (ended.status, ended.out) == (5, "")
    assert f"{report}: this is {CALLED[command]}, not a certificate" in ended.err
    assert "certgen verify is for certificates" in ended.err


@pytest.mark.parametrize("command", SURVEYS)
def test_register_takes_no_report(
    command: str, report: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 5, and no register is made for it."""
    kept = tmp_path / "kept"
    ended = run(capsys, "register", "add", report, "--register", kept)
    assert ended.status == 5
    assert f"{report}: this is {CALLED[command]}, not a certificate" in ended.err
    assert not kept.exists()


@pytest.mark.parametrize("command", ["study"])
def test_report_is_not_read_as_a_survey(
    command: str, report: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Comparison and trend take certificates only."""
    ended = run(capsys, "compare", report, WINDER[1])
    assert (ended.status, ended.out) == (5, "")
    assert f"this is {CALLED[command]}, not a certificate" in ended.err
