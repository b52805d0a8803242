"""The group of commands: help, exit statuses and endings without a traceback."""

import errno
import io
import json
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
@pytest.mark.parametrize(
    "command",
    [
        ("check",),
        ("solve",),
        ("issue",),
        ("moves",),
        ("study",),
        ("compare",),
        ("trend",),
        ("verify",),
        ("extract",),
        ("register", "add", "--register", "kept"),
    ],
)
def test_path_that_cannot_be_read_is_wrong_usage(
    command: tuple[str, ...], name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """No file, a folder, impossible names: said in one line that begins with the name."""
    ended = run(capsys, *command, name)
    assert (ended.status, ended.out) == (2, "")
    assert ended.err.startswith(f"{name}: ".encode(errors="backslashreplace").decode())
    assert ended.err.count("\n") == 1
    assert ("this is a folder" in ended.err) == (name == ".")


def test_file_without_permission_is_wrong_usage(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """In words of our own, whatever the library of options knows of permissions."""
    secret = tmp_path / "secret.yaml"
    secret.touch()

    def refused(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(os, "access", lambda *_: False)
    monkeypatch.setattr(Path, "open", refused)
    ended = run(capsys, "check", secret)
    assert ended.status == 2
    assert ended.err == f"{secret}: cannot be read: Permission denied. Check its permissions and its name.\n"


def test_operating_system_error_has_no_traceback(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the system refuses in the midst of a command is said in one line."""

    def refuse(_: str) -> None:
        raise PermissionError(13, "Permission denied", "survey.yaml")

    monkeypatch.setattr(check, "load_warned", refuse)
    ended = run(capsys, "check", SOUND)
    assert (ended.status, ended.err) == (4, "certgen: Permission denied: survey.yaml\n")


def test_interruption_has_no_traceback(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A user who stops the program gets the shell's usual status, which no fault of a survey has."""

    def interrupt(_: str) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(check, "load_warned", interrupt)
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
    assert done.returncode == 2
    assert b"Traceback" not in done.stderr


def test_startup_is_the_same_for_module_and_script() -> None:
    """`python -m certgen` is certgen."""
    assert start("--version").out == f"certgen, version {__version__}\n"


@pytest.mark.parametrize("before", [None, "4"])
def test_linear_algebra_runs_in_one_thread(
    before: str | None, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whatever the environment says: the last digits of results hang on the number of threads."""
    monkeypatch.delenv("OPENBLAS_NUM_THREADS", raising=False)
    if before is not None:
        monkeypatch.setenv("OPENBLAS_NUM_THREADS", before)
    run(capsys, "--version")
    assert os.environ["OPENBLAS_NUM_THREADS"] == "1"


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


@pytest.mark.parametrize(
    ("arguments", "status"),
    [
        (("solve", ROOT / "tests" / "faulty_surveys" / "several_faults.yaml"), 1),
        (("moves", "absent.yaml"), 2),
        (("compare", TUTORIAL, "--reference", "R99"), 3),
        (("trend", TUTORIAL), 2),
        (("study", TUTORIAL, "--no-such-option"), 2),
        (("aim", "--far", "5 furlongs"), 2),
        (("verify", TUTORIAL), 5),
        (("register", "list", "--register", "absent"), 2),
        (("register", "due", "--on", "tomorrow"), 2),
    ],
)
def test_error_is_json_where_json_was_asked_for(
    arguments: tuple[str, ...], status: int, capsys: pytest.CaptureFixture[str]
) -> None:
    """One object, with the exit status and what the standard error says too; without --json nothing."""
    ended = run(capsys, *arguments, "--json")
    told = json.loads(ended.out)
    assert (ended.status, told["exit_code"], told["format"]) == (status, status, "certgen-error/1")
    assert told["error"] in ended.err
    assert ("findings" in told) == (status == 1)
    plain = run(capsys, *arguments)
    assert (plain.status, plain.out, plain.err) == (status, "", ended.err)


class Full(io.TextIOBase):
    """An output on a full disk."""

    def write(self, _: str) -> int:
        """Refuse."""
        raise OSError(errno.ENOSPC, "No space left on device")


@pytest.mark.parametrize("arguments", [["--help"], ["--version"], ["check", "--help"], ["schema"]])
def test_full_disk_has_no_traceback(
    arguments: list[str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Exit 4 and a line."""
    monkeypatch.setattr(sys, "stdout", Full())
    ended = run(capsys, *arguments)
    assert (ended.status, ended.err) == (4, "certgen: No space left on device\n")


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("issue", TUTORIAL, "-o", "out.pdf"), "out.pdf: as found fail, as left pass"),
        (("moves", TUTORIAL, "--pdf", "out.pdf"), "Wrote out.pdf."),
        (("register", "reserve", "--prefix", "FC-", "--register", "kept"), "FC-001"),
        (("new", "out.yaml"), "Wrote out.yaml and certgen-survey.schema.json."),
    ],
)
def test_what_was_made_is_told_on_a_full_disk(
    arguments: tuple[str, ...],
    told: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A number that was handed out, a file that is there: on the standard error, with exit 4."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(sys, "stdout", Full())
    ended = run(capsys, *arguments)
    assert ended.status == 4
    assert f"\nDone all the same: {told}" in ended.err
