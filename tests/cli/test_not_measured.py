"""A roll that was moved and not read again, through every command: no line with one is called a pass."""

import json
from pathlib import Path

import pytest

from certgen import resources
from certgen.register.intake import take
from tests.cli.run import run

TUTORIAL = (resources.sample_surveys() / "tutorial.yaml").read_text("utf-8")
LEVEL_LEFT = "    R2: {reading: -0.01 mm/m, reversed: -0.02 mm/m}\n"
MOVED = "adjustments: [{roll: R2, side: drive, up: 0.5 mm, downstream: -0.28 mm}]\n"
LEFT = TUTORIAL[TUTORIAL.index("    as_left:\n") :]


def written(folder: Path, *edits: tuple[str, str], more: str = "") -> Path:
    """Return the tutorial with every (old, new) replaced, each of which stands there once, and `more`."""
    text = TUTORIAL
    for old, new in edits:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    path = folder / "line.yaml"
    path.write_text(text + more, encoding="utf-8")
    return path


@pytest.fixture
def moved(tmp_path: Path) -> Path:
    """Return the tutorial with R2 raised and moved along, its parallel read again and its level not."""
    return written(tmp_path, (LEVEL_LEFT, ""), more=MOVED)


def test_check_warns_of_the_move_that_nobody_read(moved: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """At the place of the move, per aspect, with what would be right."""
    ended = run(capsys, "check", moved)
    line = moved.read_text("utf-8").splitlines().index(MOVED.strip()) + 1
    assert ended.status == 0
    (warning,) = ended.err.splitlines()
    assert warning.startswith(f"{moved}:{line}:43: warning: adjustments[0].up: roll R2 was raised or lowered")
    assert warning.endswith("Read it again and add it under `as_left: {R2: ...}` in level:.")


def test_solve_does_not_call_it_a_pass(moved: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The headline says what is missing, the table why, and nothing says that R2 was not adjusted."""
    told = run(capsys, "solve", moved).out
    assert (
        "The line as left: not shown to pass (2 of 3 rolls within tolerance; Not measured: R2 level)" in told
    )
    level = told.split("Parallel to")[0]
    row = next(line for line in level.splitlines() if line.startswith("R2"))
    below = level.splitlines()[level.splitlines().index(row) + 1]
    assert row.split()[-3:] == ["not", "measured", "–"]
    assert below.strip() == "moved, not read again"
    assert json.loads(run(capsys, "solve", "--json", moved).out)["overall"]["as_left"] == "not shown"


def test_reading_set_aside_does_the_same(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The only as-left level of R2 is set aside."""
    aside = LEVEL_LEFT.replace("}", ", exclude: {reason: not settled}}")
    path = written(tmp_path, (LEVEL_LEFT, aside))
    ended = run(capsys, "solve", path)
    assert "warning: level.as_left.R2" in ended.err
    assert "not shown to pass (2 of 3 rolls within tolerance; Not measured: R2 level)" in ended.out


def test_moves_asks_for_the_reading(moved: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """R2 is to be read first, and not left as it is; the others are."""
    told = run(capsys, "moves", moved).out
    assert "Read these rolls first" in told
    assert "R2  Inspection idler (Level: moved, not read again)" in told
    assert "[ ] Level: reading ________  turned round ________  by ________  time ________" in told
    assert "Leave as they are: R1, R3." in told


def test_certificate_and_register_hold_it(moved: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Issued, verified, and entered with the verdict that it has; it can be looked for by that."""
    pdf, where = moved.with_suffix(".pdf"), moved.with_name("register")
    issued = run(capsys, "issue", moved, "-o", pdf)
    assert f"{pdf}: as found fail, as left not shown" in issued.out
    assert run(capsys, "verify", pdf).status == 0
    assert take("line.pdf", pdf.read_bytes()).certificate.as_left == "not shown"
    assert run(capsys, "register", "add", "--register", where, pdf).status == 0
    found = run(capsys, "register", "list", "--register", where, "--verdict", "not shown").out
    assert "TB-2026-014" in found
    assert "TB-2026-014" not in run(capsys, "register", "list", "--register", where, "--verdict", "pass").out


def test_survey_of_one_round_states_the_line_as_found(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """No verdict as left, nothing `not adjusted`, and R3, which nobody read, is not left as it is."""
    start = TUTORIAL.index("  as_left:\n    R2:")
    level_left = TUTORIAL[start : TUTORIAL.index("\n\n", start) + 1]
    path = written(
        tmp_path,
        (level_left, ""),
        (LEFT, ""),
        ("      R3: {operator: 0, drive: -0.03}\n", ""),
        ("    R3: {reading: -0.08 mm/m, reversed: -0.10 mm/m}\n", ""),
    )
    told = run(capsys, "solve", path).out
    assert "The line as surveyed: fail (1 of 3 rolls outside tolerance;" in told
    assert "; Not measured: R3;" in told
    assert "The line as left" not in told
    assert "not re-measured" not in told
    moves = run(capsys, "moves", path).out
    assert "Leave as they are: R1." in moves
    assert "R3  Rewind lay-on roll (Level: not read yet; Parallel: not read yet)" in moves
