"""README and `docs/` are true: their commands run and print what they show.

The blocks of a page run one after the other in one folder, beside the sample surveys. Where a line of them
ends in `...`, only its beginning counts; a line that is nothing else stands for lines left out.
`python -m tests.test_readme` writes what the commands print now into the pages; read the difference.
"""

import os
import re
import shlex
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

import certgen
from certgen import errors
from certgen.cli.group import COMMANDS
from certgen.cli.register import RegisterGroup
from tests import survey_keys

ROOT = Path(__file__).parent.parent
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
CI = (ROOT / ".ci" / "run").read_text(encoding="utf-8")

ELIDED = "..."
SECOND = ".venv/bin/pip install -q -e '.[dev]'"


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
    words = shlex.split(command)
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
    """Return what was printed, elided where the text elides it: lines in the middle, or the ends of lines."""
    if ELIDED in shown:
        before = shown.index(ELIDED)
        after = len(shown) - before - 1
        assert len(printed) > before + after, "nothing is left to elide"
        printed = [*printed[:before], ELIDED, *printed[len(printed) - after :]]
    if len(printed) != len(shown):
        return printed
    return [old if _begins(new, old) else new for new, old in zip(printed, shown, strict=True)]


def _begins(printed: str, shown: str) -> bool:
    return shown.endswith(ELIDED) and printed.startswith(shown.removesuffix(ELIDED))


def line_starting(start: str) -> str:
    """Return the one command of the README that starts so."""
    (line,) = [line[2:] for line in README.splitlines() if line.startswith(f"$ {start}")]
    return line


def played(block: list[Step], folder: Path) -> list[Step]:
    """Return a block with what its commands print now, run in a folder."""
    status, now = 0, []
    for step in block:
        printed, status = run(step.command, folder, status)
        now.append(Step(step.command, tuple(as_shown([line.rstrip() for line in printed], step.shown))))
    return now


def with_surveys(folder: Path) -> Path:
    """Put the surveys of the checkout into a folder and return it."""
    for copied in ("sample_surveys", "tests/faulty_surveys"):
        shutil.copytree(ROOT / copied, folder / copied)
    return folder


def written(block: list[Step]) -> str:
    """Return a block as it stands in the README."""
    return "".join(f"$ {step.command}\n" + "".join(f"{line}\n" for line in step.shown) for step in block)


def rewrite() -> None:
    """Write what the commands print now into the pages."""
    for page in PAGES:
        text = page.read_text("utf-8")
        with TemporaryDirectory() as folder:
            place = with_surveys(Path(folder))
            for block in blocks(text):
                text = text.replace(written(block), written(played(block, place)))
        page.write_text(text, encoding="utf-8")


@pytest.mark.parametrize(
    "page", [page for page in PAGES if blocks(page.read_text("utf-8"))], ids=lambda page: page.stem
)
def test_commands_of_a_page_print_what_it_shows(page: Path, tmp_path: Path) -> None:
    """Every `$ certgen` block, line for line."""
    folder = with_surveys(tmp_path)
    for block in blocks(page.read_text("utf-8")):
        assert written(played(block, folder)) == written(block)


def test_pages_show_every_command() -> None:
    """The pages run every command whose output is worth reading, and the README names all."""
    shown = {
        step.command.split()[1]
        for page in PAGES
        for block in blocks(page.read_text("utf-8"))
        for step in block
        if "echo" not in step.command
    }
    assert COMMANDS.keys() - shown == {"schema", "sign"}  # one prints a schema, one needs a key of its own
    assert [name for name in COMMANDS if f"`certgen {name}`" not in README] == []
    assert [name for name in RegisterGroup.table if f"`{name}`" not in README] == []


def test_readme_has_the_tutorial_survey_in_full() -> None:
    """A reader sees all that it takes."""
    (shown,) = re.findall(r"^```yaml\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)
    assert shown == (ROOT / "sample_surveys" / "tutorial.yaml").read_text("utf-8")


def test_readme_stays_short_and_leads_to_every_page() -> None:
    """What does not fit stands in `docs/`, and a reader finds it from here."""
    assert len(README.splitlines()) <= 200
    assert [page.name for page in PAGES[1:] if f"](docs/{page.name})" not in README] == []


def test_tour_lists_every_sample() -> None:
    """A sample nobody is led to shows nothing."""
    tour = (ROOT / "docs" / "tour.md").read_text("utf-8")
    names = [path.name for path in (ROOT / "sample_surveys").iterdir()]
    assert [name for name in names if f"(../sample_surveys/{name})" not in tour] == []


def test_page_lists_every_exit_status() -> None:
    """Those of the errors, and 0."""
    page = (ROOT / "docs" / "exit_statuses.md").read_text("utf-8")
    listed = {int(status) for status in re.findall(r"^\| (\d) \|", page, re.MULTILINE)}
    assert listed == {0} | {one.exit_code for one in vars(errors).values() if hasattr(one, "exit_code")}


def test_first_command_installs_no_more_than_issuing_needs() -> None:
    """One line creates the environment, installs and issues a certificate of a survey that is there."""
    create, install, issue = line_starting("python3 -m venv").split(" && ")
    assert (create, install) == ("python3 -m venv .venv", ".venv/bin/pip install -q -e .")
    program, command, survey, *_ = issue.split()
    assert (program, command) == (".venv/bin/certgen", "issue")
    assert (ROOT / survey).is_file()
    assert line_starting(SECOND) == f"{SECOND} && .venv/bin/python -m pytest"


def test_check_script_runs_the_commands_of_the_readme() -> None:
    """The script takes both lines from the README, so they cannot differ."""
    assert set(re.findall(r"from_readme ['\"]([^'\"]+)['\"]", CI)) == {
        "python3 -m venv",
        ".venv/bin/pip install",
    }


def test_check_script_can_be_started() -> None:
    """It is executable and sound shell."""
    assert os.access(ROOT / ".ci" / "run", os.X_OK)
    subprocess.run(["bash", "-n", ROOT / ".ci" / "run"], check=True)


@pytest.mark.parametrize("page", [*PAGES, ROOT / "DEVELOPERS.md"], ids=lambda page: page.stem)
def test_links_and_paths_lead_somewhere(page: Path) -> None:
    """Every relative link of a page, and every file of the code or the tests that it names."""
    text = page.read_text("utf-8")
    links = [target for target in re.findall(r"\]\(([^)#]+)[^)]*\)", text) if "://" not in target]
    assert [target for target in links if not (page.parent / target).exists()] == []
    paths = set(re.findall(r"`((?:certgen|tests|templates|sample_surveys)/[\w/.]+)`", text))
    assert [path for path in paths if not (ROOT / path).exists()] == []


def test_page_on_the_keys_of_a_survey_is_that_of_the_format() -> None:
    """It is written anew by `python -m tests.survey_keys`; every key has an example."""
    assert survey_keys.PAGE.read_text("utf-8") == survey_keys.page()
    assert survey_keys.without_example() == []


def test_survey_with_every_key_is_solved() -> None:
    """What the page shows can be computed with."""
    solved = certgen.solve(survey_keys.EVERY_KEY)
    overall = solved.results()["overall"]
    assert (overall["as_found"], overall["as_left"]) == ("fail", "fail")
    assert solved.pdf().startswith(b"%PDF-")


if __name__ == "__main__":
    rewrite()
