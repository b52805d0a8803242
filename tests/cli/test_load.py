"""A file to a solution: every fault in one go, as `certgen check` lists them; each network solved once."""

from pathlib import Path

import pytest

from certgen.cli.survey_input import load, load_solved
from certgen.errors import RankDefect, SurveyRefused
from certgen.findings import Finding
from certgen.network import solution
from certgen.network.least_squares import solve
from tests.cli.run import SOUND, run

FAULTY = sorted(path for path in SOUND.parent.glob("*.yaml") if path != SOUND)
# Two places of the level so close together that sag cannot be told from slope.
NO_SAG = (
    "R2: {at: 900, reading: 1 div}",
    "R2: [{at: 900, reading: 1 div}, {at: 900.000000001, reading: 1 div}]",
)


def changed(tmp_path: Path, *edits: tuple[str, str]) -> str:
    """Write the sound survey with pieces of its text replaced; return the path."""
    text = SOUND.read_text("utf-8")
    for old, new in edits:
        assert text.count(old) == 1
        text = text.replace(old, new)
    path = tmp_path / "survey.yaml"
    path.write_text(text, "utf-8")
    return str(path)


def refused(path: Path, how: object) -> tuple[Finding, ...]:
    """Return the findings with which a file is refused."""
    with pytest.raises(SurveyRefused) as ended:
        how(str(path))  # type: ignore[operator]
    return ended.value.findings


@pytest.mark.parametrize("path", FAULTY, ids=lambda path: path.stem)
def test_faulty_survey_is_refused_alike_to_be_checked_and_solved(path: Path) -> None:
    """All faults, a missing tie beside others too, in the same order."""
    assert refused(path, load_solved) == refused(path, load)


def test_sound_survey_is_solved_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """One network for level, one for parallel, and no more to look for ties."""
    solved = []
    for module in ("certgen.network.solution", "certgen.network.solution"):
        monkeypatch.setattr(f"{module}.solve", lambda rows: solved.append(rows) or solve(rows))
    found, findings = load_solved(str(SOUND))
    assert (len(solved), findings) == (2, ())
    assert isinstance(found, solution.Solution)


def test_level_that_is_not_determined_is_no_fault_of_the_survey(tmp_path: Path) -> None:
    """It is sound, so that it can be checked, and yet has no answer: ties do not explain it."""
    path = changed(tmp_path, NO_SAG)
    load(path)
    with pytest.raises(RankDefect, match="sag"):
        load_solved(path)


@pytest.mark.parametrize("command", ["solve", "moves", "study", "issue"])
def test_commands_tell_a_missing_tie_from_no_answer(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit status 1 with the setup that lacks a tie, 3 where the level readings do not suffice."""
    untied = SOUND.parent / "setup_without_tie.yaml"
    assert "setup B has no tie" in run(capsys, command, untied).err
    assert run(capsys, command, untied).status == 1
    assert run(capsys, command, changed(tmp_path, NO_SAG)).status == 3
