"""`certgen register site`: a folder that is whole or as it was."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from certgen.register.register import Register
from certgen.register.site import site
from tests.cli.processes import wait_until, workers
from tests.cli.run import run
from tests.register.site.held import held, register_of, sample_path

# a site of the register in the working folder, made by two processes
SITE = ("register", "site", "out", "--jobs", "2", "--register", "kept")
TWO_PROCESSES = (sys.executable, "-m", "certgen", *SITE)


def register_of_four_lines(folder: Path) -> None:
    """Make a register of as many lines as it takes for several processes."""
    names = ("winder_inch", "tutorial", "dryer_mixed", "coater_mm")
    register_of(folder, [held(sample_path(name)) for name in names])


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Register:
    """A register of two lines in a working folder of its own."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("CERTGEN_REGISTER", "kept")
    return register_of(tmp_path / "kept", [held(sample_path(name)) for name in ("tutorial", "dryer_mixed")])


@pytest.mark.usefixtures("kept")
def test_site_is_written_and_named(capsys: pytest.CaptureFixture[str]) -> None:
    """With the page to open; nothing else is left beside it."""
    ended = run(capsys, "register", "site", "out", "--on", "2027-01-01")
    assert (ended.status, ended.err) == (0, "")
    assert ended.out == "Wrote 2 lines and 2 certificates into out. Open out/index.html.\n"
    assert json.loads(Path("out/site.json").read_text("utf-8"))["on"] == "2027-01-01"
    assert "by 2027-03-04" in _plain(Path("out/index.html"))
    assert sorted(path.name for path in Path().iterdir()) == ["kept", "out"]


@pytest.mark.usefixtures("kept")
def test_site_takes_interval_language_and_filters(capsys: pytest.CaptureFixture[str]) -> None:
    """As the other commands of the register do."""
    options = ("--on", "2026-09-05", "--every", "6 months", "--lang", "de", "--customer", "ashmoor films")
    assert "1 line and 1 certificate" in run(capsys, "register", "site", "out", *options).out
    index = _plain(Path("out/index.html"))
    assert "überfällig seit 04.09.2026" in index
    assert "Stillwater" not in index


@pytest.mark.usefixtures("kept")
def test_site_wears_the_style_of_the_house(capsys: pytest.CaptureFixture[str]) -> None:
    """That certgen.toml in the folder states."""
    house = '[house]\nletterhead = ["Fennel Creek"]\nlanguage = "fr"\ncolours = {left = "#0b5d1e"}\n'
    Path("certgen.toml").write_text(house, "utf-8")
    assert run(capsys, "register", "site", "out").status == 0
    index = Path("out/index.html").read_text("utf-8")
    assert '<html lang="fr">' in index
    assert "Fennel Creek" in index
    assert "#0b5d1e" in index


@pytest.mark.usefixtures("kept")
def test_site_replaces_a_site_only_when_asked(capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 4 and the old pages; replaced, nothing of the old ones is left."""
    assert run(capsys, "register", "site", "out").status == 0
    Path("out/lines/old.html").write_text("old", "utf-8")
    refused = run(capsys, "register", "site", "out")
    assert (refused.status, "--replace" in refused.err) == (4, True)
    assert Path("out/lines/old.html").exists()
    assert run(capsys, "register", "site", "out", "--replace", "--without-files").status == 0
    assert not Path("out/lines/old.html").exists()
    assert not Path("out/files").exists()
    assert sorted(path.name for path in Path().iterdir()) == ["kept", "out"]


@pytest.mark.usefixtures("kept")
def test_site_never_replaces_anything_else(capsys: pytest.CaptureFixture[str]) -> None:
    """Neither a folder with something in it nor a file, whatever is asked for; an empty folder is taken."""
    Path("mine").mkdir()
    Path("mine/letter.txt").write_text("dear", "utf-8")
    Path("file").write_text("x", "utf-8")
    Path("empty").mkdir()
    for name, options in (("mine", ("--replace",)), ("mine", ()), ("file", ("--replace",))):
        assert run(capsys, "register", "site", name, *options).status == 4
    assert [path.name for path in Path("mine").iterdir()] == ["letter.txt"]
    assert run(capsys, "register", "site", "empty").status == 0


@pytest.mark.usefixtures("kept")
def test_interrupted_site_leaves_the_old_one(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whole, and nothing beside it."""
    assert run(capsys, "register", "site", "out").status == 0
    before = Path("out/index.html").read_bytes()

    def interrupted(*_arguments: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(site, "overview_page", interrupted)
    assert run(capsys, "register", "site", "out", "--replace").status == 130
    assert Path("out/index.html").read_bytes() == before
    assert sorted(path.name for path in Path().iterdir()) == ["kept", "out"]


def test_site_of_several_processes_is_the_same(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Page by page, byte for byte."""
    register_of_four_lines(tmp_path / "kept")
    for jobs in ("1", "2"):
        options = ("--on", "2027-01-01", "--jobs", jobs, "--register", tmp_path / "kept")
        assert run(capsys, "register", "site", tmp_path / jobs, *options).status == 0
    one, two = (_files(tmp_path / jobs) for jobs in ("1", "2"))
    assert one == two
    assert len(one) == 4 + 4 + 3 * 4 + 2


@pytest.mark.slow
def test_site_of_several_processes_needs_no_home(tmp_path: Path) -> None:
    """Nor does any of them say a word about it."""
    register_of_four_lines(tmp_path / "kept")
    env = {"HOME": os.devnull, "TMPDIR": str(tmp_path)}
    done = subprocess.run(TWO_PROCESSES, cwd=tmp_path, env=env, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["kept", "out"]


@pytest.mark.slow
def test_interruption_of_all_processes_of_a_site_is_quiet(tmp_path: Path) -> None:
    """At a terminal Ctrl-C reaches every process, those among them that are only just starting."""
    register_of_four_lines(tmp_path / "kept")
    for delay in (0.0, 0.1, 0.3, 0.6):
        running = subprocess.Popen(
            TWO_PROCESSES, cwd=tmp_path, stdout=-1, stderr=-1, text=True, start_new_session=True
        )
        wait_until(lambda process=running.pid: bool(workers(process)))
        time.sleep(delay)
        os.killpg(running.pid, signal.SIGINT)
        assert running.communicate(timeout=60) == ("", "")
        assert running.returncode == 130
    assert [path.name for path in tmp_path.iterdir()] == ["kept"]


@pytest.mark.usefixtures("kept")
@pytest.mark.parametrize("options", [("--every", "never"), ("--on", "tomorrow"), ("--register", "missing")])
def test_site_called_wrongly_ends_in_two(
    options: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    """And writes nothing."""
    assert run(capsys, "register", "site", "out", *options).status == 2
    assert not Path("out").exists()


def _plain(page: Path) -> str:
    """The text of a page in one line, without its marks."""
    import re

    return " ".join(re.sub(r"<[^>]*>", "", page.read_text("utf-8")).split())


def _files(folder: Path) -> dict[str, bytes]:
    """Every file below a folder."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
