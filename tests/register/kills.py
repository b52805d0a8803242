"""Killing certgen at random moments: `python -m tests.register.kills COMMAND FOLDER WHERE RUNS SEED`.

This process loads certgen once and forks a child for every run. Half of the children are killed at any moment
of a whole run, half while they write into the register. How long that takes changes with what else the
machine does, so the time within which the kill falls follows it: longer after a run that was killed before
its certificate was there, shorter after one that ended before its kill. After every kill the register is
audited, and its certificates are compared with what they must be.
"""

import os
import random
import signal
import sys
import time
from dataclasses import dataclass
from pathlib import Path

from certgen import resources
from certgen.cli import main, publish
from certgen.cli.register import add
from certgen.errors import WrongUsage
from certgen.pdf.pdf_document import certificate_pdf
from certgen.register.audit import audit
from certgen.register.entries import PDF
from certgen.register.register import Register
from tests.certificate.samples import WORDING, assessed

SOME = 10  # more than one certificate for so many kills must be there, or too few fell after the writing
FOLLOW = 1.1  # by how much the time within which a kill falls grows or shrinks
TUTORIAL = (resources.sample_surveys() / "tutorial.yaml").read_text("utf-8")


@dataclass(frozen=True)
class Case:
    """A certificate to be killed for until it is there: the call of certgen, its number, file and bytes."""

    arguments: list[str]
    number: str
    pdf: Path
    data: bytes


def case(command: str, folder: Path, where: str, number: str) -> Case:
    """Return the case of this number; its certificate is the same whoever makes it."""
    survey, pdf = folder / f"{number}.yaml", folder / f"{number}.pdf"
    survey.write_text(TUTORIAL.replace("TB-2026-014", number), "utf-8")
    data = certificate_pdf(assessed(survey), WORDING, "A4")
    if command == "issue":
        return Case(["issue", str(survey), "-o", str(pdf), "--register", where], number, pdf, data)
    pdf.write_bytes(data)
    return Case(["register", "add", str(pdf), "--register", where], number, pdf, data)


def child(one: Case, begins: int, writing: bool) -> None:
    """Run certgen in a fork, telling the parent when it begins to write."""

    def now() -> str:
        os.write(begins, b"w")
        return "2026-11-25T08:00:00Z"

    quiet = os.open(os.devnull, os.O_WRONLY)
    os.dup2(quiet, 1)
    os.dup2(quiet, 2)
    add.now = now
    if writing:  # what comes before the writing is left out where the kill is to hit what writes
        add.require_verified = lambda *_, **__: "verified"
        publish._pdf = lambda *_: one.data
    main(one.arguments)


def started(one: Case, writing: bool = False) -> tuple[int, int]:
    """Fork a run; return its process and where it tells that it begins to write."""
    told, begins = os.pipe()
    process = os.fork()
    if process == 0:
        try:
            child(one, begins, writing)
        except SystemExit as ended:
            os._exit(int(ended.code or 0))
        finally:
            os._exit(99)
    os.close(begins)
    return process, told


def times(one: Case) -> tuple[float, float]:
    """Return how long a run takes that nobody kills, and how long of that from where it begins to write."""
    began = time.monotonic()
    process, told = started(one)
    os.read(told, 1)
    wrote = time.monotonic()
    _, status = os.waitpid(process, 0)
    os.close(told)
    assert os.waitstatus_to_exitcode(status) == 0
    return time.monotonic() - began, time.monotonic() - wrote


def killed(one: Case, wait: float, writing: bool) -> int:
    """Kill a run some time after its beginning, or after it begins to write; return its exit status."""
    process, told = started(one, writing)
    if writing:
        os.read(told, 1)
    time.sleep(wait)
    os.kill(process, signal.SIGKILL)
    _, status = os.waitpid(process, 0)
    os.close(told)
    return os.waitstatus_to_exitcode(status)


def check(where: str, one: Case) -> bool:
    """Assert that the register is sound and this certificate whole, or not there; return which."""
    register = Register.open(where, create=True)
    found = audit(register)
    assert found.holds, found.faults
    try:
        digests = register.body(one.number)["sha256"]
    except WrongUsage:
        return False
    assert isinstance(digests, dict)
    assert register.file(digests[PDF]) == one.data
    return True


def kill_many(command: str, folder: Path, where: str, runs: int, seed: int) -> str:
    """Kill so many runs or more; return in words how many, and how many certificates there are afterwards."""
    chance = random.Random(seed)  # noqa: S311  # moments, not secrets
    within = list(times(case(command, folder, where, "K-000")))
    one, there, interrupted, run = case(command, folder, where, "K-001"), 0, 0, 0
    while interrupted < runs or there <= runs / SOME:
        run += 1
        writing = run % 2 == 0
        status = killed(one, chance.uniform(0.0, within[writing]), writing)
        assert status in (0, -signal.SIGKILL), status
        interrupted += status != 0
        recorded = check(where, one)
        assert recorded or command == "add" or not one.pdf.exists(), "a file without its entry"
        within[writing] *= 1.0 / FOLLOW if status == 0 else 1.0 if recorded else FOLLOW
        if recorded:
            there += 1
            one = case(command, folder, where, f"K-{there + 1:03d}")
    times(one)  # whatever was left behind, the next run does its work
    assert check(where, one)
    return f"{interrupted} of {run} killed, {there} certificates there"


if __name__ == "__main__":
    kind, place, register_at, count, begin = sys.argv[1:]
    sys.stdout.write(kill_many(kind, Path(place), register_at, int(count), int(begin)) + "\n")
