"""`certgen solve`: a table for people, the results contract for machines."""

import json
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


def test_solve_prints_verdicts_and_tables(capsys: pytest.CaptureFixture[str]) -> None:
    """Verdicts first, then level, parallel, moves and fit."""
    assert run("solve", TUTORIAL) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[1].startswith("The line as found: fail")
    assert lines[2].startswith("The line as left: pass")
    heads = [
        line for line in lines if line.startswith(("Level, positive", "Parallel to", "Network", "Setups"))
    ]
    assert len(heads) == 4


def test_solve_aligns_numbers_on_the_decimal_sign(capsys: pytest.CaptureFixture[str]) -> None:
    """In the first column of slopes every decimal sign stands in one place."""
    run("solve", TUTORIAL)
    lines = capsys.readouterr().out.split("Parallel to")[0].splitlines()
    rows = [line for line in lines if line.startswith(("R1", "R2", "R3"))]
    assert len({line.index(".") for line in rows}) == 1


def test_solve_json_is_the_results_contract(capsys: pytest.CaptureFixture[str]) -> None:
    """One JSON document on the standard output, with the digest of the file."""
    assert run("solve", TUTORIAL, "--json") == 0
    found = json.loads(capsys.readouterr().out)
    assert found["format"] == "certgen-results/1"
    assert found["overall"]["as_left"] == "pass"
    assert {"parallel", "level", "moves"} <= found["rolls"][0].keys()


def test_solve_warns_where_nothing_can_pass(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """U at or above the limit under guarded acceptance is said before a certificate is issued."""
    text = TUTORIAL.read_text("utf-8")
    assert "coverage: {k: 2}" in text
    path = tmp_path / "wide.yaml"
    path.write_text(text.replace("coverage: {k: 2}", "coverage: {k: 40}"), "utf-8")
    assert run("solve", path) == 0
    assert "can never pass" in capsys.readouterr().err


def test_solve_refuses_a_faulty_survey(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 1, the fault on the standard error, and as data on the standard output."""
    path = tmp_path / "faulty.yaml"
    path.write_text(TUTORIAL.read_text("utf-8").replace("rolls:", "rols:"), "utf-8")
    assert run("solve", path, "--json") == 1
    printed = capsys.readouterr()
    told = json.loads(printed.out)
    assert (told["format"], told["exit_code"], told["file"]) == ("certgen-error/1", 1, str(path))
    assert told["findings"][0]["got"] == "rols"
    assert printed.err.strip() == told["error"]
