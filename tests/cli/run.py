"""Running certgen in tests: in this process, or as a user would."""

import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import pytest

from certgen.cli import main

ROOT = Path(__file__).parent.parent.parent
SOUND = ROOT / "tests" / "faulty_surveys" / "sound.yaml"


class Ended(NamedTuple):
    """How a run ended."""

    status: int
    out: str
    err: str


def run(capsys: pytest.CaptureFixture[str], *arguments: object) -> Ended:
    """Run certgen in this process."""
    with pytest.raises(SystemExit) as ended:
        main([str(argument) for argument in arguments])
    out, err = capsys.readouterr()
    return Ended(int(ended.value.code or 0), out, err)


def start(*arguments: object) -> Ended:
    """Run certgen as a process of its own."""
    command = [sys.executable, "-m", "certgen", *(str(argument) for argument in arguments)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    return Ended(done.returncode, done.stdout, done.stderr)
