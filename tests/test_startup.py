"""What a command does not need, it does not load: help is there at once."""

import subprocess
import sys
from pathlib import Path

import pytest

HEAVY = {"matplotlib", "scipy", "reportlab", "pint", "numpy", "jinja2", "yaml", "sqlalchemy", "rich"}
DRAWING = {"matplotlib", "reportlab"}


def loaded_by(*arguments: str) -> set[str]:
    """Return the top-level modules that one run of certgen loads."""
    run = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "certgen", *arguments],
        cwd=Path(__file__).parent.parent,
        capture_output=True,
        text=True,
        check=True,
    )
    lines = [line for line in run.stderr.splitlines() if line.startswith("import time:")]
    return {line.rsplit("|", 1)[1].strip().split(".")[0] for line in lines}


@pytest.mark.parametrize("argument", ["--help", "--version"])
def test_help_loads_no_heavy_library(argument: str) -> None:
    """Help and version need none of the libraries that compute or draw."""
    assert loaded_by(argument) & HEAVY == set()


@pytest.mark.parametrize("command", ["check", "solve"])
def test_reading_commands_load_no_drawing_library(command: str) -> None:
    """Only issuing a certificate draws."""
    assert loaded_by(command, "sample_surveys/tutorial.yaml") & DRAWING == set()


def test_check_loads_what_it_uses() -> None:
    """The measurement itself works: a survey cannot be read without these."""
    assert {"yaml", "pint"} <= loaded_by("check", "sample_surveys/tutorial.yaml")
