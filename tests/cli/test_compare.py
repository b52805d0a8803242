"""`certgen compare`: tables for people, JSON for machines, a PDF that is whole or not at all."""

import json
from pathlib import Path

import pytest

from certgen.resources import sample_surveys
from tests.cli.run import run

FIRST = sample_surveys() / "winder_inch.yaml"
SECOND = sample_surveys() / "winder_inch_next_year.yaml"


def test_compare_prints_conclusion_remarks_and_tables(capsys: pytest.CaptureFixture[str]) -> None:
    """In this order; what has moved stands first."""
    ended = run(capsys, "compare", FIRST, SECOND)
    assert (ended.status, ended.err) == (0, "")
    parts = [
        "Certificate FC-2026-031 as left, against certificate FC-2027-044 as found",
        "- Changes judged: 21. Moved: 2;",
        "- Moved, level: R8.",
        "- Moved, parallel: R7.",
        "- For parallel, roll R11 is taken to have stood still",
        "- Renamed: R10 is now T10.",
        "Level, positive",
        "Parallel to the common reference",
    ]
    places = [ended.out.index(part) for part in parts]
    assert places == sorted(places)


def test_compare_takes_surveys_in_any_order(capsys: pytest.CaptureFixture[str]) -> None:
    """The dates say which is the earlier one."""
    assert run(capsys, "compare", SECOND, FIRST).out == run(capsys, "compare", FIRST, SECOND).out


def test_compare_of_one_survey_is_found_against_left(capsys: pytest.CaptureFixture[str]) -> None:
    """The rounds of one visit."""
    ended = run(capsys, "compare", FIRST)
    assert "as found against as left" in ended.out
    assert "- Moved, parallel: R2, R4, R6, R7, R9, R10." in ended.out


def test_compare_json_is_the_contract(capsys: pytest.CaptureFixture[str]) -> None:
    """One document on the standard output, every name in place."""
    found = json.loads(run(capsys, "compare", FIRST, SECOND, "--json").out)
    assert found["format"] == "certgen-compare/1"
    assert found["reference"] == {"roll": "R11", "monuments": [], "brought": True}
    assert found["counts"] == {
        "judged": 21,
        "moved": 2,
        "not_moved": 19,
        "cannot_be_told": 0,
        "moved_by_chance": pytest.approx(21 * 0.0455, abs=1e-3),
    }
    rolls = {roll["id"]: roll for roll in found["rolls"]}
    assert (rolls["T10"]["before_id"], rolls["T10"]["after_id"]) == ("R10", "T10")
    assert (rolls["R5A"]["presence"], rolls["R3"]["presence"]) == ("new", "gone")
    change = rolls["R7"]["parallel"]["change"]
    assert change["drive_bearing_alone_mm"] == pytest.approx(change["slope_mm_per_m"] * 2.7432)
    assert rolls["R7"]["parallel"]["outcome"] == "moved"


def test_compare_asks_for_a_limit_that_matters(capsys: pytest.CaptureFixture[str]) -> None:
    """Against a tenth of a thou per foot these surveys are too coarse: it cannot be told."""
    ended = run(capsys, "compare", FIRST, SECOND, "--relevant", "0.1 thou/ft")
    assert "cannot be told: 19." in ended.out


def test_compare_holds_against_the_roll_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    """Which must be measured at both; else exit 3 and what may be named."""
    assert (
        "For parallel, roll R1 is taken to have stood still"
        in run(capsys, "compare", FIRST, SECOND, "--reference", "R1").out
    )
    ended = run(capsys, "compare", FIRST, SECOND, "--reference", "R3")
    assert (ended.status, ended.out) == (3, "")
    assert ended.err.endswith(
        "to be named with --reference: R1, R2, R4, R5, R6, R7, R8, R9, T10, R11, R12.\n"
    )


def test_compare_of_two_lines_says_so_first(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Before anything that is only true of one line."""
    other = tmp_path / "other.yaml"
    other.write_text(SECOND.read_text("utf-8").replace("LN3-WND", "LN4-WND"), "utf-8")
    lines = run(capsys, "compare", FIRST, other).out.splitlines()
    assert "LN3-WND" in lines[1]
    assert "LN4-WND" in lines[1]
    assert lines[2].startswith("- Changes judged:")


def test_compare_writes_a_pdf(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Beside the tables; with --json the standard output stays a document."""
    target = tmp_path / "comparison.pdf"
    ended = run(capsys, "compare", FIRST, SECOND, "--json", "--pdf", target)
    assert json.loads(ended.out)["format"] == "certgen-compare/1"
    assert ended.err == f"Wrote {target}.\n"
    assert target.read_bytes().startswith(b"%PDF-")
    assert list(tmp_path.iterdir()) == [target]


def test_compare_leaves_an_existing_pdf_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 4 and the old bytes, until --replace is given."""
    target = tmp_path / "old.pdf"
    target.write_bytes(b"old")
    ended = run(capsys, "compare", FIRST, SECOND, "--pdf", target)
    assert (ended.status, ended.out, target.read_bytes()) == (4, "", b"old")
    assert run(capsys, "compare", FIRST, SECOND, "--pdf", target, "--replace").status == 0
    assert target.read_bytes().startswith(b"%PDF-")


def test_compare_of_a_visit_with_itself_is_wrong_usage(capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 2: its readings are not independent."""
    ended = run(capsys, "compare", FIRST, FIRST)
    assert ended.status == 2
    assert "given twice" in ended.err


@pytest.mark.parametrize("arguments", [["--relevant", "3 mm"], ["--relevant", "-1 mm/m"], ["--pdf"]])
def test_compare_called_wrongly_ends_in_two(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """A limit that is no slope, a negative one, a PDF without a name."""
    assert run(capsys, "compare", FIRST, SECOND, *arguments).status == 2


def test_compare_of_a_faulty_survey_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 1 and no PDF."""
    path = tmp_path / "faulty.yaml"
    path.write_text(SECOND.read_text("utf-8").replace("rolls:", "rols:"), "utf-8")
    assert run(capsys, "compare", FIRST, path, "--pdf", tmp_path / "c.pdf").status == 1
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("command", ["compare", "trend", "study", "moves"])
def test_folder_in_the_place_of_a_pdf_is_told_at_once(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 4, nothing printed, and no advice that would not help."""
    files = (FIRST, SECOND) if command == "trend" else (FIRST,)
    for target, told in ((tmp_path, "this is a folder"), (tmp_path / "none" / "a.pdf", "does not exist")):
        ended = run(capsys, command, *files, "--pdf", target)
        assert (ended.status, ended.out, told in ended.err) == (4, "", True)


def test_compare_warns_of_a_visit_that_contradicts_itself(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A movement that is found may be a wrong reading; the reading is named with its place."""
    text = FIRST.read_text("utf-8")
    sound = "R4: {operator: 0, drive: 1}  "
    assert text.count(sound) == 1
    wrong = tmp_path / "wrong.yaml"
    wrong.write_text(text.replace(sound, "R4: {operator: 0, drive: -10}  "), "utf-8")
    told = run(capsys, "compare", wrong, SECOND)
    assert told.status == 0
    assert "setups[0].as_left.R4: R4 as left in setup A contradicts the other readings" in told.err
