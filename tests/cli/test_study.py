"""`certgen study`: a table for people, JSON for machines, a PDF that is whole or not at all."""

import json
from pathlib import Path

import pytest

from certgen.resources import sample_surveys
from tests.cli.run import run

TUTORIAL = sample_surveys() / "tutorial.yaml"
COATER = sample_surveys() / "coater_mm.yaml"


def test_study_prints_conclusion_table_and_warning(capsys: pytest.CaptureFixture[str]) -> None:
    """In this order; the present reference is marked."""
    ended = run(capsys, "study", COATER)
    assert (ended.status, ended.err) == (0, "")
    parts = [
        "- Present reference",
        "- Cheapest roll, roll C7",
        "- Cheapest direction",
        "(present)",
        "plant's decision",
    ]
    places = [ended.out.index(part) for part in parts]
    assert places == sorted(places)


def test_study_json_is_the_contract(capsys: pytest.CaptureFixture[str]) -> None:
    """One document on the standard output, for the round that was asked for."""
    found = json.loads(run(capsys, "study", COATER, "--json", "--round", "as_left").out)
    assert (found["format"], found["round"]) == ("certgen-study/1", "as_left")
    assert found["reference"] == ["M1", "M2", "M3"]
    assert [one["kind"] for one in found["candidates"] if one["present"]] == ["line"]


def test_study_writes_a_pdf(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Beside the table; with --json the standard output stays a document."""
    target = tmp_path / "study.pdf"
    ended = run(capsys, "study", TUTORIAL, "--json", "--pdf", target)
    assert json.loads(ended.out)["format"] == "certgen-study/1"
    assert ended.err == f"Wrote {target}.\n"
    assert target.read_bytes().startswith(b"%PDF-")
    assert list(tmp_path.iterdir()) == [target]


def test_study_leaves_an_existing_pdf_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 4 and the old bytes, until --replace is given."""
    target = tmp_path / "old.pdf"
    target.write_bytes(b"old")
    ended = run(capsys, "study", TUTORIAL, "--pdf", target)
    assert (ended.status, ended.out, target.read_bytes()) == (4, "", b"old")
    assert run(capsys, "study", TUTORIAL, "--pdf", target, "--replace").status == 0
    assert target.read_bytes().startswith(b"%PDF-")


def test_study_of_levels_alone_has_no_answer(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 3: the survey is sound, and says nothing about a reference for parallel."""
    text = TUTORIAL.read_text("utf-8")
    path = tmp_path / "levels.yaml"
    path.write_text(text[: text.index("setups:")], "utf-8")
    ended = run(capsys, "study", path)
    assert (ended.status, ended.out) == (3, "")
    assert "no readings for parallel" in ended.err


@pytest.mark.parametrize("arguments", [["--round", "both"], ["--pdf"]])
def test_study_called_wrongly_ends_in_two(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """An unknown round, a PDF without a name."""
    assert run(capsys, "study", TUTORIAL, *arguments).status == 2


def test_study_of_a_faulty_survey_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 1 and no PDF."""
    path = tmp_path / "faulty.yaml"
    path.write_text(TUTORIAL.read_text("utf-8").replace("rolls:", "rols:"), "utf-8")
    assert run(capsys, "study", path, "--pdf", tmp_path / "study.pdf").status == 1
    assert list(tmp_path.iterdir()) == [path]
