"""No command replaces what it reads, whatever is asked for."""

import os
import shutil
from pathlib import Path

import pytest

from certgen.resources import sample_surveys
from tests.cli.run import run


@pytest.fixture
def surveys(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Two surveys of one line in the working folder, and a link to the first."""
    for name in ("winder_inch", "winder_inch_next_year"):
        shutil.copy(sample_surveys() / f"{name}.yaml", tmp_path)
    (tmp_path / "link.yaml").symlink_to("winder_inch.yaml")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize(
    "arguments",
    [
        ("issue", "winder_inch.yaml", "-o", "winder_inch.yaml"),
        ("issue", "winder_inch.yaml", "-o", "w.pdf", "--html", "link.yaml"),
        ("moves", "winder_inch.yaml", "--pdf", "./winder_inch.yaml"),
        ("study", "link.yaml", "--pdf", "winder_inch.yaml"),
        ("compare", "winder_inch.yaml", "winder_inch_next_year.yaml", "--pdf", "winder_inch_next_year.yaml"),
        ("trend", "winder_inch.yaml", "winder_inch_next_year.yaml", "--pdf", "link.yaml"),
    ],
)
def test_command_never_replaces_what_it_reads(
    arguments: tuple[str, ...], surveys: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 2 and every byte as it was, also by another name."""
    before = {path.name: path.read_bytes() for path in surveys.iterdir()}
    ended = run(capsys, *arguments, "--replace")
    assert (ended.status, "this is what the command reads" in ended.err) == (2, True)
    assert {path.name: path.read_bytes() for path in surveys.iterdir()} == before


@pytest.mark.parametrize(
    "arguments",
    [
        ("issue", "winder_inch.yaml", "-o"),
        ("issue", "winder_inch.yaml", "-o", "w.pdf", "--letter"),
        ("moves", "winder_inch.yaml", "--pdf"),
        ("trend", "winder_inch.yaml", "winder_inch_next_year.yaml", "--pdf"),
        ("new",),
    ],
)
def test_command_replaces_ordinary_files_only(
    arguments: tuple[str, ...], surveys: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A pipe ends in exit 4 and a dash in exit 2; neither is replaced, nor is anything else made."""
    os.mkfifo(surveys / "pipe")
    before = sorted(surveys.iterdir())
    ended = run(capsys, *arguments, "pipe", "--replace")
    assert (ended.status, "pipe: this is a device, a pipe" in ended.err) == (4, True)
    ended = run(capsys, *arguments, "-", "--replace")
    assert (ended.status, ended.err.startswith("-: what certgen makes are files")) == (2, True)
    assert sorted(surveys.iterdir()) == before
    assert (surveys / "pipe").is_fifo()


@pytest.mark.parametrize(
    "arguments",
    [
        ("issue", "winder_inch.yaml", "--csv", "-"),
        ("batch", ".", "-o", "-"),
        ("register", "site", "-", "--register", "kept"),
    ],
)
def test_dash_names_no_folder(
    arguments: tuple[str, ...], surveys: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 2, and nothing is made."""
    before = sorted(surveys.iterdir())
    ended = run(capsys, *arguments)
    assert (ended.status, ended.err.startswith("-: what certgen makes are files")) == (2, True)
    assert sorted(surveys.iterdir()) == before
