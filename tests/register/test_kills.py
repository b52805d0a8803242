"""Killed at any moment, certgen leaves a register that is sound, with certificates whole or not at all."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.register.kills import SOME

ROOT = Path(__file__).parent.parent.parent
RUNS = {"sqlite": 100, "postgresql": 20}


@pytest.mark.slow
@pytest.mark.parametrize("command", ["issue", "add"])
def test_killed_command_leaves_a_sound_register(command: str, where: str, tmp_path: Path) -> None:
    """At 100 random moments; enough of them fall before, within and after the writing to mean something."""
    runs = RUNS["postgresql" if "://" in where else "sqlite"]
    arguments = [sys.executable, "-m", "tests.register.kills", command, str(tmp_path), where, str(runs), "7"]
    done = subprocess.run(arguments, cwd=ROOT, capture_output=True, text=True, check=False, timeout=900)
    assert done.returncode == 0, done.stderr
    killed, there = map(int, re.findall(r"(\d+) (?:of|certificates)", done.stdout))
    assert killed >= runs
    assert there > runs / SOME
