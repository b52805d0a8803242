"""`certgen schema`."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from certgen.survey.schema import schema
from tests.cli.run import ROOT, run, start

PATHS = {**os.environ, "PYTHONPATH": str(ROOT)}


def test_schema_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    """The JSON Schema and nothing else."""
    ended = run(capsys, "schema")
    assert (ended.status, ended.err) == (0, "")
    assert json.loads(ended.out) == schema()


def test_schema_is_plain_ascii(capsys: pytest.CaptureFixture[str]) -> None:
    """It can be redirected into a file under any encoding."""
    assert run(capsys, "schema").out.isascii()


def test_schema_as_a_process() -> None:
    """As a user starts it."""
    ended = start("schema")
    assert (ended.status, ended.err) == (0, "")
    assert ended.out.startswith("{\n")


@pytest.mark.parametrize("arguments", [["schema"], ["new", "line.yaml"]])
def test_schema_needs_no_units_library(arguments: list[str], tmp_path: Path) -> None:
    """Nothing is converted, so the slowest library stays away."""
    code = (
        f"import sys; from certgen.cli.group import certgen; certgen.main({arguments}, standalone_mode=False)"
    )
    report = f"{code}; print(sorted({{'pint', 'scipy', 'numpy'}} & set(sys.modules)), file=sys.stderr)"
    done = subprocess.run(
        [sys.executable, "-c", report], cwd=tmp_path, capture_output=True, text=True, check=True, env=PATHS
    )
    assert done.stderr == "[]\n"
