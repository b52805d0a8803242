"""The README is true: its commands run, print what it shows, and are the ones that check every change.

`python -m tests.test_readme` writes what the commands print now into the README; read the difference.
"""

import os
import re
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from certgen import errors
from certgen.cli.group import COMMANDS
from certgen.cli.register import RegisterGroup

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
CI = (ROOT / ".ci" / "run").read_text(encoding="utf-8")

ELIDED = "..."


@dataclass(frozen=True)
class Step:
    """One command of a console block, with the lines shown under it."""

    command: str
    shown: tuple[str, ...]


def blocks(text: str) -> list[list[Step]]:
    """Return the console blocks of a text that hold certgen commands, each as its steps."""
    found = [steps(block) for block in re.findall(r"^```console\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)]
    return [block for block in found if block and block[0].command.startswith("certgen ")]


def steps(block: str) -> list[Step]:
    """Split a console block at its prompts."""
    parts = re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]
    return [Step(command, tuple(shown)) for command, *shown in (part.splitlines() for part in parts)]


def run(command: str, folder: Path, status: int) -> tuple[list[str], int]:
    """Return the lines and the exit status of one command of a block; `echo $?` repeats the last status."""
    if command == "echo $?":
        return [str(status)], 0
    words = command.split()
    assert words[0] == "certgen", f"only certgen is run here, not {command}"
    done = subprocess.run(
        [sys.executable, "-m", "certgen", *words[1:]],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        encoding="utf-8",
        check=False,
    )
    return done.stdout.splitlines(), done.returncode


def as_shown(printed: list[str], shown: tuple[str, ...]) -> list[str]:
    """Return what was printed, its middle elided where the text elides it."""
    if ELIDED not in shown:
        return printed
    before = shown.index(ELIDED)
    after = len(shown) - before - 1
    assert len(printed) > before + after, "nothing is left to elide"
    return [*printed[:before], ELIDED, *printed[len(printed) - after :]]


def line_starting(start: str) -> str:
    """Return the one command of the README that starts so."""
    (line,) = [line[2:] for line in README.splitlines() if line.startswith(f"$ {start}")]
    return line


def played(block: list[Step], folder: Path) -> list[Step]:
    """Return a block with what its commands print now, run in a copy of the surveys of the checkout."""
    for copied in ("sample_surveys", "tests/faulty_surveys"):
        shutil.copytree(ROOT / copied, folder / copied)
    status, now = 0, []
    for step in block:
        printed, status = run(step.command, folder, status)
        now.append(Step(step.command, tuple(as_shown([line.rstrip() for line in printed], step.shown))))
    return now


def written(block: list[Step]) -> str:
    """Return a block as it stands in the README."""
    return "".join(f"$ {step.command}\n" + "".join(f"{line}\n" for line in step.shown) for step in block)


def rewrite() -> None:
    """Write what the commands print now into the README."""
    text = README
    for block in blocks(README):
        with TemporaryDirectory() as folder:
            text = text.replace(written(block), written(played(block, Path(folder))))
    (ROOT / "README.md").write_text(text, encoding="utf-8")


@pytest.mark.parametrize("block", blocks(README), ids=lambda block: block[0].command)
def test_readme_block_prints_what_it_shows(block: list[Step], tmp_path: Path) -> None:
    """Every `$ certgen` block, line for line; `...` stands for lines left out."""
    assert written(played(block, tmp_path)) == written(block)


def test_readme_shows_every_command() -> None:
    """The tour runs every command whose output is worth reading, and names the others."""
    shown = {
        step.command.split()[1] for block in blocks(README) for step in block if "echo" not in step.command
    }
    assert COMMANDS.keys() - shown == {"schema"}
    named = (*(f"certgen {name}" for name in COMMANDS), *(f"register {name}" for name in RegisterGroup.table))
    assert [name for name in named if name not in README] == []


def test_readme_lists_every_sample() -> None:
    """A sample nobody is led to shows nothing."""
    names = [path.name for path in (ROOT / "sample_surveys").iterdir()]
    assert [name for name in names if f"(sample_surveys/{name})" not in README] == []


def test_readme_lists_every_exit_status() -> None:
    """Those of the errors, and 0."""
    listed = {int(status) for status in re.findall(r"^\| (\d) \|", README, re.MULTILINE)}
    assert listed == {0} | {one.exit_code for one in vars(errors).values() if hasattr(one, "exit_code")}


def test_first_command_issues_a_sample() -> None:
    """One line creates the environment, installs and issues a certificate of a survey that is there."""
    create, install, issue = line_starting("python3 -m venv").split(" && ")
    assert create == "python3 -m venv .venv"
    assert install == ".venv/bin/pip install -q -e '.[dev]'"
    program, command, survey, *_ = issue.split()
    assert (program, command) == (".venv/bin/certgen", "issue")
    assert (ROOT / survey).is_file()


def test_check_script_runs_the_commands_of_the_readme() -> None:
    """The script takes both lines from the README, so they cannot differ."""
    starts = re.findall(r"from_readme '([^']+)'", CI)
    assert starts == ["python3 -m venv", ".venv/bin/python -m pytest"]
    assert [bool(line_starting(start)) for start in starts] == [True, True]


def test_check_script_can_be_started() -> None:
    """It is executable and sound shell."""
    assert os.access(ROOT / ".ci" / "run", os.X_OK)
    subprocess.run(["bash", "-n", ROOT / ".ci" / "run"], check=True)


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_links_lead_somewhere(text: str) -> None:
    """Every relative link names a file or folder of the checkout."""
    targets = [target for target in re.findall(r"\]\(([^)#]+)[^)]*\)", text) if "://" not in target]
    assert [target for target in targets if not (ROOT / target).exists()] == []


if __name__ == "__main__":
    rewrite()
