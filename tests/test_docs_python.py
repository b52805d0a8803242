"""The page on certgen from Python says what works, and a type checker agrees."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

import certgen
from certgen import resources

ROOT = Path(__file__).parent.parent
CODE = "\n".join(
    re.findall(r"```python\n(.*?)```", (ROOT / "docs" / "python.md").read_text("utf-8"), re.DOTALL)
)
CALLER = '''
import certgen

def verdict(path: str) -> str:
    """Use the front door as another program would."""
    solved: certgen.Solved = certgen.solve(path)
    lines = [one.line(path) for one in certgen.check(path)]
    written = certgen.issue(path, "x.pdf", language="de", replace=True)
    return f"{solved.results()['decision']} {len(solved.pdf())} {written.name} {lines}"
'''


def test_page_on_python_runs_as_it_stands(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All of its examples, one after the other, in an empty folder."""
    monkeypatch.chdir(tmp_path)
    assert CODE.count("certgen.issue") == 2
    exec(compile(CODE, "docs/python.md", "exec"), {})  # noqa: S102  # the page is our own
    assert (tmp_path / "certificate.pdf").read_bytes().startswith(b"%PDF-")


def test_front_door_gives_what_the_command_writes(tmp_path: Path) -> None:
    """Byte for byte."""
    survey = tmp_path / "tutorial.yaml"
    survey.write_bytes((resources.sample_surveys() / "tutorial.yaml").read_bytes())
    written = certgen.issue(survey)
    assert written == tmp_path / "tutorial.pdf"
    assert written.read_bytes() == certgen.solve(survey).pdf()


def test_check_returns_the_faults_of_a_faulty_survey() -> None:
    """No exception: what is wrong is what was asked for."""
    found = certgen.check(ROOT / "tests" / "faulty_surveys" / "decimal_comma.yaml")
    assert [one.severity for one in found] == ["error"]


@pytest.mark.slow
def test_caller_passes_a_strict_type_checker(tmp_path: Path) -> None:
    """Names and kinds are visible from outside; a wrong kind is found."""
    for source, status in ((CALLER, 0), (CALLER.replace('language="de"', "language=1"), 1)):
        caller = tmp_path / "caller.py"
        caller.write_text(source, encoding="utf-8")
        command = [sys.executable, "-m", "mypy", "--strict", "--config-file", "", str(caller)]
        run = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
        assert run.returncode == status, run.stdout + run.stderr
