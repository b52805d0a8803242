"""Killing certgen at random moments: `python -m tests.register.kills COMMAND FOLDER WHERE RUNS SEED`.

This process loads certgen once and forks a child for every run. Half of the children are killed at any moment
of a whole run, half within a few milliseconds of where they begin to write into the register. After every
kill the register is audited, and its certificates are compared with what they must be.
"""

import os
import random
import signal
import sys
import time
from pathlib import Path

from certgen import resources
from certgen.certificate.assemble import certificate_pdf
from certgen.cli import main
from certgen.cli.register import add, keep
from certgen.errors import WrongUsage
from certgen.register.audit import audit
from certgen.register.entry import PDF
from certgen.register.register import Register
from tests.certificate.samples import WORDING, assessed

TUTORIAL = (resources.sample_surveys() / "tutorial.yaml").read_text("utf-8")
WRITES_FOR = 0.03  # seconds, somewhat more than adding one certificate takes


def prepared(command: str, folder: Path, run: int) -> tuple[list[str], str, Path]:
    """Return the arguments of one run, the number of its certificate and the PDF it is about."""
    number = f"K-{run:03d}"
    survey, pdf = folder / f"{number}.yaml", folder / f"{number}.pdf"
    survey.write_text(TUTORIAL.replace("TB-2026-014", number), "utf-8")
    if command == "issue":
        return ["issue", str(survey), "-o", str(pdf)], number, pdf
    pdf.write_bytes(made(survey))
    return ["register", "add", str(pdf)], number, pdf


def made(survey: Path) -> bytes:
    """Return the certificate of a survey, which is the same whoever makes it."""
    return certificate_pdf(assessed(survey), WORDING, "A4")


def child(arguments: list[str], begins: int, writing: bool) -> None:
    """Run certgen in a fork, telling the parent when it begins to write."""

    def now() -> str:
        os.write(begins, b"w")
        return "2026-11-25T08:00:00Z"

    quiet = os.open(os.devnull, os.O_WRONLY)
    os.dup2(quiet, 1)
    os.dup2(quiet, 2)
    add.now = keep.now = now
    if writing:  # the verification writes nothing; it is left out where the kill is to hit what writes
        add.require_verified = lambda _file, _data, _trusting: None
    main(arguments)


def started(arguments: list[str], writing: bool = False) -> tuple[int, int]:
    """Fork a run; return its process and where it tells that it begins to write."""
    told, begins = os.pipe()
    process = os.fork()
    if process == 0:
        try:
            child(arguments, begins, writing)
        except SystemExit as ended:
            os._exit(int(ended.code or 0))
        finally:
            os._exit(99)
    os.close(begins)
    return process, told


def whole_time(arguments: list[str]) -> float:
    """Return how long a run takes that nobody kills."""
    began = time.monotonic()
    process, told = started(arguments)
    _, status = os.waitpid(process, 0)
    os.close(told)
    assert os.waitstatus_to_exitcode(status) == 0
    return time.monotonic() - began


def killed(arguments: list[str], wait: float, writing: bool) -> int:
    """Kill a run some time after its beginning, or after it begins to write; return its exit status."""
    process, told = started(arguments, writing)
    if writing:
        os.read(told, 1)
    time.sleep(wait)
    os.kill(process, signal.SIGKILL)
    _, status = os.waitpid(process, 0)
    os.close(told)
    return os.waitstatus_to_exitcode(status)


def check(where: str, number: str, pdf: Path, survey: Path) -> bool:
    """Assert that the register is sound and this certificate whole, or not there; return which."""
    register = Register.open(where, create=True)
    found = audit(register)
    assert found.holds, found.faults
    try:
        digests = register.body(number)["sha256"]
    except WrongUsage:
        assert survey.is_file()
        return False
    assert isinstance(digests, dict)
    assert register.file(digests[PDF]) == (pdf.read_bytes() if pdf.is_file() else made(survey))
    return True


def kill_many(command: str, folder: Path, where: str, runs: int, seed: int) -> str:
    """Run until so many were killed; return in words how many certificates were there afterwards."""
    chance = random.Random(seed)  # noqa: S311  # moments, not secrets
    first, _, pdf = prepared(command, folder, 0)
    made(pdf.with_suffix(".yaml"))  # what a process does only once is done before it is measured
    whole = whole_time([*first, "--register", where])
    there = interrupted = run = 0
    while interrupted < runs:
        run += 1
        arguments, number, pdf = prepared(command, folder, run)
        writing = run % 2 == 0
        wait = chance.uniform(0.0, WRITES_FOR if writing else whole)
        status = killed([*arguments, "--register", where], wait, writing)
        assert status in (0, -signal.SIGKILL), status
        interrupted += status != 0
        recorded = check(where, number, pdf, folder / f"{number}.yaml")
        assert recorded or command == "add" or not pdf.exists(), "a file without its entry"
        there += recorded
    main_again(command, folder, where, run)
    return f"{interrupted} of {run} killed, {there} certificates there"


def main_again(command: str, folder: Path, where: str, runs: int) -> None:
    """Run the last command again to its end: whatever was left behind, it does its work."""
    arguments, number, pdf = prepared(command, folder, runs)
    if command == "issue":
        pdf.unlink(missing_ok=True)
    whole_time([*arguments, "--register", where])
    assert check(where, number, pdf, folder / f"{number}.yaml")


if __name__ == "__main__":
    kind, place, register_at, count, begin = sys.argv[1:]
    sys.stdout.write(kill_many(kind, Path(place), register_at, int(count), int(begin)) + "\n")
