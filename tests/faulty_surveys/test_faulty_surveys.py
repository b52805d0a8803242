"""Every faulty survey is refused with exactly the findings that its own comments expect."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from certgen.cli import main

HERE = Path(__file__).parent
FAULTY = sorted(path for path in HERE.glob("*.yaml") if path.stem != "sound")
_EXPECT = re.compile(r"# expect: (.*)$")
_FINDING = re.compile(r":(\d+):(\d+): (.*)$")


def expected(path: Path) -> list[tuple[int, str]]:
    """Return (line, text) for every comment of a file that says what is to be found there."""
    lines = path.read_text(encoding="utf-8").splitlines()
    return [(n, found.group(1)) for n, line in enumerate(lines, 1) if (found := _EXPECT.search(line))]


def reported(text: str, path: Path) -> Iterator[tuple[int, str]]:
    """Yield (line, text) for every error on the standard error."""
    for line in text.splitlines():
        found = _FINDING.match(line.removeprefix(str(path)))
        if found and not found.group(3).startswith("warning: "):
            yield int(found.group(1)), found.group(3)


def run(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    """Run certgen in this process; return exit status, output and error output."""
    with pytest.raises(SystemExit) as ended:
        main(arguments)
    out, err = capsys.readouterr()
    return int(ended.value.code or 0), out, err


def test_faulty_surveys_are_many() -> None:
    """The folder holds the faults of every part of the format."""
    assert len(FAULTY) >= 45


def test_sound_survey_passes(capsys: pytest.CaptureFixture[str]) -> None:
    """The survey that all faulty ones are made from has neither fault nor warning itself."""
    status, _, err = run(["check", str(HERE / "sound.yaml")], capsys)
    assert (status, err) == (0, "")


@pytest.mark.parametrize("path", FAULTY, ids=lambda path: path.stem)
def test_faulty_survey_gets_its_findings(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Each fault is reported at its line in words, nothing else is, and nothing goes to the output."""
    status, out, err = run(["check", str(path)], capsys)
    wanted, found = expected(path), list(reported(err, path))
    assert (status, out) == (1, "")
    assert "Traceback" not in err
    assert wanted
    for line, text in wanted:
        assert any(at == line and text in message for at, message in found), err
    assert len(found) == len(wanted), err


@pytest.mark.parametrize("path", FAULTY, ids=lambda path: path.stem)
def test_faulty_survey_is_told_what_is_right(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Every line of findings ends in a sentence that says what to do."""
    _, _, err = run(["check", str(path)], capsys)
    for line in err.splitlines()[:-1]:
        assert re.search(r"\. \S.*[.?]$", line), line
