"""The group of commands: help, exit statuses and endings without a traceback."""

import os
import subprocess
import sys
from pathlib import Path

import click
import pytest

from certgen import __version__
from certgen.cli import check
from certgen.cli.group import COMMANDS, certgen
from tests.cli.run import ROOT, SOUND, run, start

TUTORIAL = ROOT / "sample_surveys" / "tutorial.yaml"


def test_help_lists_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    """Each with its one-line summary."""
    out = run(capsys, "--help").out
    assert all(f"  {name}" in out and summary in out for name, summary in COMMANDS.items())


@pytest.mark.parametrize("name", COMMANDS)
def test_command_is_where_the_table_says(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Every command can be loaded and has help of its own."""
    assert isinstance(certgen.get_command(click.Context(certgen), name), click.Command)
    assert run(capsys, name, "--help").status == 0


def test_version_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    """The version of the package."""
    assert run(capsys, "--version").out == f"certgen, version {__version__}\n"


@pytest.mark.parametrize("arguments", [["chek"], ["check"], ["check", "--jsn", "x"], ["check", "a", "b"]])
def test_wrong_usage_ends_in_two(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """An unknown command or option, too few arguments or too many."""
    ended = run(capsys, *arguments)
    assert (ended.status, ended.out) == (2, "")
    assert "Usage:" in ended.err


@pytest.mark.parametrize("name", ["absent.yaml", ".", "x" * 300, "caf\udce9.yaml"])
def test_missing_file_ends_in_one(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """No file, a folder, impossible names: a finding, not a traceback."""
    ended = run(capsys, "check", name)
    assert (ended.status, ended.out) == (1, "")
    assert "Traceback" not in ended.err


def test_operating_system_error_has_no_traceback(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the system refuses in the midst of a command is said in one line."""

    def refuse(_: str) -> None:
        raise PermissionError(13, "Permission denied", "survey.yaml")

    monkeypatch.setattr(check, "load", refuse)
    ended = run(capsys, "check", SOUND)
    assert (ended.status, ended.err) == (4, "certgen: Permission denied: survey.yaml\n")


def test_interruption_has_no_traceback(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A user who stops the program gets the shell's usual status, which no fault of a survey has."""

    def interrupt(_: str) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(check, "load", interrupt)
    assert run(capsys, "check", SOUND) == (130, "", "")


def test_closed_pipe_is_quiet() -> None:
    """A reader that has seen enough ends the program without a word."""
    command = [sys.executable, "-m", "certgen", "schema"]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as run:
        assert run.stdout is not None
        assert run.stderr is not None
        run.stdout.close()
        assert run.stderr.read() == b""
    assert run.returncode == 141


def test_poor_terminal_gets_letters_as_numbers() -> None:
    """A terminal without the letters of a name gets no traceback."""
    command = [sys.executable, "-X", "utf8=0", "-m", "certgen", "check", "tests/faulty_surveys/Ü.yaml"]
    poor = {"PYTHONIOENCODING": "ascii", "PATH": "/usr/bin:/bin"}
    done = subprocess.run(command, cwd=ROOT, capture_output=True, check=False, env=poor)
    assert done.returncode == 1
    assert b"Traceback" not in done.stderr


def test_startup_is_the_same_for_module_and_script() -> None:
    """`python -m certgen` is certgen."""
    assert start("--version").out == f"certgen, version {__version__}\n"


@pytest.mark.parametrize(("before", "after"), [(None, "1"), ("4", "4")])
def test_linear_algebra_runs_in_one_thread(
    before: str | None, after: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Unless the user has asked for more."""
    monkeypatch.delenv("OPENBLAS_NUM_THREADS", raising=False)
    if before is not None:
        monkeypatch.setenv("OPENBLAS_NUM_THREADS", before)
    run(capsys, "--version")
    assert os.environ["OPENBLAS_NUM_THREADS"] == after


@pytest.mark.parametrize(
    "arguments",
    [
        ("issue", TUTORIAL, "-o", "out.pdf"),
        pytest.param(("batch", TUTORIAL.parent, "-o", "out"), marks=pytest.mark.slow),
    ],
)
def test_account_without_a_home_gets_no_warnings(arguments: tuple[str, ...], tmp_path: Path) -> None:
    """What the plotting library keeps lies in a temporary folder, and nothing of it is left."""
    (tmp_path / "temporary").mkdir()
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("XDG_", "MPL"))}
    env = {**kept, "HOME": f"{os.devnull}/home", "TMPDIR": str(tmp_path / "temporary")}
    command = [sys.executable, "-m", "certgen", *map(str, arguments)]
    done = subprocess.run(command, cwd=tmp_path, env=env, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    assert list((tmp_path / "temporary").iterdir()) == []
