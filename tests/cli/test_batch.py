"""`certgen batch`: every file on its own, interrupted and run again, with nothing half done."""

import fcntl
import json
import os
import pty
import re
import signal
import struct
import subprocess
import sys
import termios
import time
from contextlib import suppress
from pathlib import Path

import pytest

from certgen import resources
from certgen.cli.batch.jobs import Job
from certgen.cli.batch.work import do
from certgen.verify.issued_file import carried
from tests.certificate.test_forgeries import FORGERIES
from tests.cli.processes import wait_until, workers
from tests.cli.run import ROOT, run, start

SAMPLES = resources.sample_surveys()
TUTORIAL = (SAMPLES / "tutorial.yaml").read_text("utf-8")


def surveys(folder: Path, count: int) -> Path:
    """Return a folder with so many sound surveys, each with a number of its own."""
    folder.mkdir()
    for number in range(count):
        text = TUTORIAL.replace("TB-2026-014", f"TB-{number:03d}")
        (folder / f"s{number:03d}.yaml").write_text(text, "utf-8")
    return folder


def batch(*arguments: object) -> "subprocess.Popen[str]":
    """Start a batch of its own process group, so that a signal meets nobody else."""
    command = [sys.executable, "-u", "-m", "certgen", "batch", *map(str, arguments)]
    return subprocess.Popen(
        command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    )


def assert_all_whole(folder: Path, output: Path) -> None:
    """Every certificate there carries its survey to the last byte, and no other file lies beside them."""
    for path in output.iterdir():
        if path.name.startswith("."):  # what a killed process was writing, under no name anybody uses
            continue
        assert carried(path.read_bytes()).survey == (folder / path.name).with_suffix(".yaml").read_bytes()


def on_terminal(*arguments: object) -> bytes:
    """Return all that a command that succeeds writes onto a terminal of 40 columns, read as it comes."""
    leader, follower = pty.openpty()
    fcntl.ioctl(follower, termios.TIOCSWINSZ, struct.pack("HHHH", 20, 40, 0, 0))
    command = [sys.executable, "-m", "certgen", *map(str, arguments)]
    shown = {name: value for name, value in os.environ.items() if name not in ("COLUMNS", "LINES")}
    env = {**shown, "TERM": "xterm"}
    done = subprocess.Popen(command, cwd=ROOT, env=env, stdout=follower, stderr=follower)
    os.close(follower)
    out = b""
    with suppress(OSError):  # the other end is closed
        while data := os.read(leader, 100_000):
            out += data
    os.close(leader)
    assert done.wait() == 0
    return out


def test_batch_does_all_but_the_bad_one(tmp_path: Path) -> None:
    """The same bytes as one by one; the fault is told as `certgen issue` tells it, with its exit status."""
    folder = surveys(tmp_path / "in", 3)
    (folder / "s001.yaml").write_text(TUTORIAL.replace("decision:", "decison:"), "utf-8")
    (folder / "notes.txt").write_text("no survey", "utf-8")
    ended = start("batch", folder, "-o", tmp_path / "out", "--jobs", "2")
    assert ended.status == 1, ended.err
    assert ended.out.endswith("2 issued, 1 failed.\n")
    assert "unknown key" in ended.out
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["s000.pdf", "s002.pdf"]
    assert start("issue", folder / "s002.yaml", "-o", tmp_path / "alone.pdf").status == 0
    assert (tmp_path / "out" / "s002.pdf").read_bytes() == (tmp_path / "alone.pdf").read_bytes()


def test_batch_run_again_does_only_what_changed(tmp_path: Path) -> None:
    """Unchanged ones keep their file; a changed survey asks for --replace; the register has them all."""
    folder, register = surveys(tmp_path / "in", 2), tmp_path / "register"
    assert start("batch", folder).out.endswith("2 issued.\n")
    before = (folder / "s000.pdf").stat().st_mtime_ns
    again = start("batch", folder, "--register", register, "--jobs", "1")
    assert (again.status, again.out.endswith("2 unchanged.\n")) == (0, True)
    assert (folder / "s000.pdf").stat().st_mtime_ns == before
    assert len(json.loads(start("register", "list", "--json", "--register", register).out)) == 2
    survey = folder / "s001.yaml"
    survey.write_text(survey.read_text("utf-8").replace("Inspection rewinder", "Rewinder"), "utf-8")
    refused = start("batch", folder, "--jobs", "1")
    assert (refused.status, "--replace" in refused.out) == (4, True)
    assert start("batch", folder, "--replace", "--jobs", "1").out.endswith("1 issued, 1 unchanged.\n")


def changed(file: Path) -> None:
    """Change one byte of the pages of a certificate; its survey inside stays as it was."""
    data = file.read_bytes()
    at = data.index(b"stream\n") + 40
    file.write_bytes(data[:at] + bytes([data[at] ^ 1]) + data[at + 1 :])


def test_batch_takes_no_changed_certificate_for_done(tmp_path: Path) -> None:
    """It is told and not recorded; --replace issues it anew."""
    folder, register = surveys(tmp_path / "in", 2), tmp_path / "register"
    assert start("batch", folder).status == 0
    sound = (folder / "s001.pdf").read_bytes()
    changed(folder / "s001.pdf")
    ended = start("batch", folder, "--register", register)
    assert (ended.status, ended.out.endswith("1 unchanged, 1 failed.\n")) == (5, True)
    assert "s001.pdf: the file is not built as certgen builds it" in ended.out
    assert "--replace" in ended.out
    listed = json.loads(start("register", "list", "--json", "--register", register).out)
    assert [one["number"] for one in listed] == ["TB-000"]
    assert start("batch", folder, "--replace").out.endswith("1 issued, 1 unchanged.\n")
    assert (folder / "s001.pdf").read_bytes() == sound


def test_batch_verifies_what_it_records(tmp_path: Path) -> None:
    """A certificate that carries this survey and is whole may still say something else."""
    folder, register = surveys(tmp_path / "in", 1), tmp_path / "register"
    assert start("batch", folder).status == 0
    file = folder / "s000.pdf"
    file.write_bytes(FORGERIES["page_cropped"](file.read_bytes()))
    ended = start("batch", folder, "--register", register)
    assert (ended.status, "certgen verify" in ended.out) == (5, True)
    assert start("register", "list", "--register", register).out == "0 certificates.\n"


def test_batch_tells_a_register_out_of_reach_once(tmp_path: Path) -> None:
    """Before any file is begun."""
    ended = start("batch", surveys(tmp_path / "in", 2), "--register", tmp_path / "in" / "s000.yaml")
    assert (ended.status, ended.out, ended.err.count("this is a file")) == (2, "", 1)


def test_batch_into_a_file_cannot_be_written(tmp_path: Path) -> None:
    """The file is named, and so is one where a folder of surveys was meant."""
    folder = surveys(tmp_path / "in", 1)
    (tmp_path / "taken").write_text("")
    ended = start("batch", folder, "-o", tmp_path / "taken")
    assert (ended.status, ended.err) == (4, f"{tmp_path / 'taken'}: this is a file. Name a folder.\n")
    assert "Name the folder" in start("batch", folder / "s000.yaml").err


def test_file_that_cannot_be_read_fails_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In words, and not with the name of an error of the language."""
    (tmp_path / "s.yaml").write_text(TUTORIAL, "utf-8")
    (tmp_path / "s.pdf").write_bytes(b"%PDF-")

    def refused(_path: Path) -> bytes:
        raise PermissionError(13, "Permission denied", "s.pdf")

    monkeypatch.setattr(Path, "read_bytes", refused)
    outcome = do(Job(tmp_path / "s.yaml", tmp_path / "s.pdf"))
    assert (outcome.state, outcome.status, outcome.text) == ("failed", 4, "s.pdf: Permission denied.")


def test_batch_verifies_and_remembers(tmp_path: Path) -> None:
    """One report for each; what was sound and is as it was is not verified again, what was not is."""
    folder = surveys(tmp_path / "in", 2)
    assert start("batch", folder, "-o", tmp_path / "out", "--jobs", "1").status == 0
    changed = tmp_path / "out" / "s001.pdf"
    data = changed.read_bytes()
    changed.write_bytes(data[:3000] + bytes([data[3000] ^ 1]) + data[3001:])
    first = start("batch", "--verify", tmp_path / "out", "-o", tmp_path / "said", "--jobs", "1")
    assert (first.status, first.out.endswith("1 verified, 1 failed.\n")) == (5, True), first
    report = json.loads((tmp_path / "said" / "s001.pdf.json").read_text("utf-8"))
    assert (report["verified"], len(report["sha256"])) == (False, 64)
    again = start("batch", "--verify", tmp_path / "out", "-o", tmp_path / "said", "--jobs", "1")
    assert again.out.endswith("1 unchanged, 1 failed.\n")


@pytest.mark.slow
@pytest.mark.parametrize(
    ("number", "status"), [(signal.SIGINT, 130), (signal.SIGTERM, 130), (signal.SIGKILL, -signal.SIGKILL)]
)
def test_interrupted_batch_goes_on_where_it_stopped(tmp_path: Path, number: int, status: int) -> None:
    """Ctrl-C, a request to end, kill -9: nothing half done, no process left, the next run does the rest."""
    folder, output = surveys(tmp_path / "in", 12), tmp_path / "out"
    running = batch(folder, "-o", output, "--jobs", "2")
    assert running.stdout is not None
    assert running.stdout.readline().startswith("issued")
    busy = workers(running.pid)
    assert len(busy) == 2
    running.send_signal(number)
    out, _ = running.communicate(timeout=60)
    assert running.returncode == status
    assert ("Run it again" in out) == (number != signal.SIGKILL)
    wait_until(lambda: not any(Path(f"/proc/{one}/cmdline").exists() for one in busy))
    done = len(list(output.glob("*.pdf")))
    assert 0 < done < 12
    assert_all_whole(folder, output)
    again = start("batch", folder, "-o", output)
    assert again.out.endswith(f"{12 - done} issued, {done} unchanged.\n")
    assert_all_whole(folder, output)


@pytest.mark.slow
def test_interruption_of_all_processes_is_quiet(tmp_path: Path) -> None:
    """At a terminal Ctrl-C reaches every process, those among them that are only just starting."""
    folder = surveys(tmp_path / "in", 12)
    for delay in (0.0, 0.05, 0.1, 0.2, 0.4):
        running = batch(folder, "-o", tmp_path / f"out{delay}", "--jobs", "2")
        wait_until(lambda process=running.pid: bool(workers(process)))
        time.sleep(delay)
        os.killpg(running.pid, signal.SIGINT)
        _, err = running.communicate(timeout=60)
        assert (running.returncode, err) == (130, "")


@pytest.mark.slow
@pytest.mark.parametrize("second", [signal.SIGINT, signal.SIGTERM])
def test_second_interruption_does_not_hang(tmp_path: Path, second: signal.Signals) -> None:
    """Whoever presses Ctrl-C twice gets the same end, and no process is left waiting."""
    folder = surveys(tmp_path / "in", 12)
    for pause in (0.02, 0.1, 0.2):
        running = batch(folder, "-o", tmp_path / f"out{pause}", "--jobs", "2")
        assert running.stdout is not None
        assert running.stdout.readline().startswith("issued")
        os.killpg(running.pid, signal.SIGINT)
        time.sleep(pause)
        os.kill(running.pid, second)
        out, err = running.communicate(timeout=30)
        assert (running.returncode, err, out.count("Run it again")) == (130, "", 1)


@pytest.mark.slow
def test_batch_outlives_a_process_that_dies(tmp_path: Path) -> None:
    """A worker that is killed takes no file with it: what it was at is done once more."""
    folder, output = surveys(tmp_path / "in", 4), tmp_path / "out"
    running = batch(folder, "-o", output, "--jobs", "1")
    assert running.stdout is not None
    assert running.stdout.readline().startswith("issued")
    os.kill(workers(running.pid)[0], signal.SIGKILL)
    out, err = running.communicate(timeout=60)
    assert running.returncode == 0, err
    assert len(list(output.glob("*.pdf"))) == 4
    assert "failed" not in out


def test_progress_is_for_terminals_only(tmp_path: Path) -> None:
    """A bar where somebody looks, lines alone where a file is written."""
    folder = surveys(tmp_path / "in", 1)
    assert start("batch", folder).err == ""
    out = on_terminal("batch", folder)
    assert b"0/1" in out
    assert b"1/1" in out


def test_lines_stand_above_the_bar(tmp_path: Path) -> None:
    """On a terminal of 40 columns: each on a line of its own, whole, however long the name."""
    folder = surveys(tmp_path / "in", 3)
    lines = re.findall(rb"(?:\A|\n|\r|\x1b\[2K)issued    (\S+)\r\n", on_terminal("batch", folder))
    assert sorted(lines) == [str(folder / f"s{number:03d}.yaml").encode() for number in range(3)]


@pytest.mark.parametrize(
    "arguments", [("--verify", "--replace"), ("--verify", "--register", "r"), ("--jobs", "0")]
)
def test_batch_of_contradictions_is_wrong_usage(tmp_path: Path, arguments: tuple[str, ...]) -> None:
    """What only issuing knows, beside --verify."""
    assert start("batch", tmp_path, *arguments).status == 2


def test_batch_of_no_folder_is_wrong_usage(tmp_path: Path) -> None:
    """Exit 2."""
    assert start("batch", tmp_path / "missing").status == 2


def test_surveys_of_one_file_are_refused(tmp_path: Path) -> None:
    """Both are named, and the rest is issued."""
    folder = surveys(tmp_path / "in", 2)
    (folder / "s000.yml").write_text(TUTORIAL, "utf-8")
    ended = start("batch", folder, "-o", tmp_path / "out")
    one, other, target = folder / "s000.yaml", folder / "s000.yml", tmp_path / "out" / "s000.pdf"
    assert f"{one}: would be issued as {target}, and so would {other}. Give" in ended.out
    assert f"{other}: would be issued as {target}, and so would {one}. Give" in ended.out
    assert (ended.status, ended.out.endswith("1 issued, 2 failed.\n")) == (2, True)
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["s001.pdf"]


def test_names_that_begin_with_a_dash_are_no_options(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Issued, recorded and verified like any other."""
    surveys(tmp_path / "in", 1)
    monkeypatch.chdir(tmp_path / "in")
    Path("s000.yaml").rename("-dash.yaml")
    ended = run(capsys, "batch", ".", "--register", "-kept")
    assert (ended.status, ended.out.startswith("issued    -dash.yaml\n")) == (0, True), ended
    assert run(capsys, "batch", "--verify", ".").out == "verified  -dash.pdf\n1 verified.\n"


def test_surveys_that_share_a_number_are_refused(tmp_path: Path) -> None:
    """Each of them at its line; another revision is no twin of theirs, nor is what is no survey."""
    folder = surveys(tmp_path / "in", 2)
    twin = (folder / "s000.yaml").read_text("utf-8")
    (folder / "copy.yaml").write_text(twin.replace("Inspection rewinder", "Rewinder"), "utf-8")
    (folder / "later.yaml").write_text(
        twin.replace("revision: 0", "revision: 1, supersedes: TB-000, reason: typing"), "utf-8"
    )
    for name in ("empty.yaml", "list.yaml"):
        (folder / name).write_text("- 1\n" if name == "list.yaml" else "", "utf-8")
    ended = start("batch", folder, "-o", tmp_path / "out")
    assert ended.status == 1
    line = 1 + twin[: twin.index("number:")].count("\n")
    assert f"{folder / 's000.yaml'}:{line}:" in ended.out
    assert f"revision 0, stands in {folder / 's000.yaml'} as well" in ended.out
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["later.pdf", "s001.pdf"]
    assert ended.out.endswith("2 issued, 4 failed.\n")


def test_batch_of_an_empty_folder_has_nothing_to_do(tmp_path: Path) -> None:
    """And says so."""
    assert start("batch", tmp_path).out == "nothing to do.\n"
