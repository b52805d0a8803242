"""Installed from a wheel or in place, certgen finds the files that travel with it and works."""

import json
import subprocess
import sys
import sysconfig
import tomllib
from pathlib import Path
from zipfile import ZipFile

import pytest

from tests.lowest import PYPROJECT, lowest

ROOT = Path(__file__).parent.parent
WHERE = "from certgen import resources as r; print(r.__file__, r.templates(), r.sample_surveys(), sep='\\n')"


def pip(*arguments: object) -> None:
    """Run pip without reaching for the network."""
    command = [sys.executable, "-m", "pip", "--disable-pip-version-check", *map(str, arguments)]
    run = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stdout + run.stderr


def build_wheel(source: Path, into: Path) -> Path:
    """Build the wheel of a checkout or of a source archive with the build backend that is installed here."""
    pip("wheel", source, "--no-deps", "--no-build-isolation", "--no-index", "--wheel-dir", into)
    (wheel,) = into.glob("certgen-*.whl")
    return wheel


def install(where: Path, *what: object) -> Path:
    """Return the commands folder of a fresh environment that borrows the libraries of this one.

    Borrowed by a path file: path files of the borrowed folder itself, such as that of a checkout installed
    in place, are not followed.
    """
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", where], check=True)
    commands = where / ("Scripts" if sys.platform == "win32" else "bin")
    (own,) = where.glob("[Ll]ib/**/site-packages")
    (own / "borrowed.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    options = ("--no-deps", "--no-build-isolation", "--no-index", "--ignore-installed")
    pip("--python", commands / "python", "install", *options, *what)
    return commands


def run(commands: Path, *command: object, cwd: Path) -> str:
    """Return what a command of that environment prints."""
    program, *arguments = map(str, command)
    done = subprocess.run(
        [commands / program, *arguments], cwd=cwd, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel of this checkout."""
    return build_wheel(ROOT, tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The commands of an environment with the wheel in it."""
    return install(tmp_path_factory.mktemp("installed") / "env", wheel)


def test_wheel_holds_every_travelling_file(wheel: Path) -> None:
    """Templates, fonts with their licence, and samples are in it; tests are not."""
    held = set(ZipFile(wheel).namelist())
    travelling = {
        f"certgen/_{path.relative_to(ROOT).as_posix()}"
        for folder in ("templates", "sample_surveys")
        for path in (ROOT / folder).rglob("*")
        if path.is_file()
    }
    assert travelling - held == set()
    assert [name for name in held if name.startswith("tests/")] == []


def test_wheel_finds_its_files_away_from_the_checkout(installed: Path, tmp_path: Path) -> None:
    """The installed package looks inside itself."""
    module, templates, samples = map(Path, run(installed, "python", "-c", WHERE, cwd=tmp_path).splitlines())
    assert not module.is_relative_to(ROOT)
    assert templates.is_relative_to(module.parent)
    assert (samples / "tutorial.yaml").is_file()


def test_wheel_prints_the_schema(installed: Path, tmp_path: Path) -> None:
    """The command stands in the environment and is certgen's."""
    assert "properties" in json.loads(run(installed, "certgen", "schema", cwd=tmp_path))


def test_wheel_solves_a_sample(installed: Path, tmp_path: Path) -> None:
    """A sample that came with the wheel is solved by the wheel."""
    samples = run(installed, "python", "-c", WHERE, cwd=tmp_path).splitlines()[2]
    found = run(installed, "certgen", "solve", "--json", Path(samples) / "tutorial.yaml", cwd=tmp_path)
    assert json.loads(found)["overall"]["as_left"] == "pass"


def test_wheel_starts_a_new_survey(installed: Path, tmp_path: Path) -> None:
    """The scaffold travels with the wheel."""
    run(installed, "certgen", "new", "line.yaml", cwd=tmp_path)
    assert (tmp_path / "line.yaml").is_file()


def test_checkout_installed_in_place_finds_its_files(tmp_path: Path) -> None:
    """An installation for development uses the folders of the checkout, not copies of them."""
    commands = install(tmp_path / "env", "--editable", ROOT)
    module, templates, samples = map(Path, run(commands, "python", "-c", WHERE, cwd=tmp_path).splitlines())
    assert module.is_relative_to(ROOT)
    assert (templates, samples) == (ROOT / "templates", ROOT / "sample_surveys")


def test_source_archive_builds_the_same_wheel(wheel: Path, tmp_path: Path) -> None:
    """Nothing the wheel needs is left out of the source archive."""
    command = [sys.executable, "-m", "hatchling", "build", "--target", "sdist", "--directory", tmp_path]
    subprocess.run(command, cwd=ROOT, capture_output=True, check=True)
    (archive,) = tmp_path.glob("certgen-*.tar.gz")
    rebuilt = build_wheel(archive, tmp_path / "rebuilt")
    assert sorted(ZipFile(rebuilt).namelist()) == sorted(ZipFile(wheel).namelist())


def test_every_requirement_has_a_lowest_version_to_try() -> None:
    """Each can be pinned to it, as the job with the lowest versions does, exact to the patch release."""
    pinned = dict(one.split("==") for one in lowest())
    assert {"numpy", "pint", "pypdf", "reportlab", "pyHanko"} <= pinned.keys()
    assert [name for name, version in pinned.items() if version.count(".") != 2] == []


def test_requirement_without_a_lowest_version_is_found(tmp_path: Path) -> None:
    """So that no bound is forgotten."""
    spoiled = tmp_path / "pyproject.toml"
    spoiled.write_text(PYPROJECT.read_text(encoding="utf-8").replace('"pint>=0.24.4"', '"pint"'))
    with pytest.raises(ValueError, match="pint"):
        list(lowest(spoiled))


def test_libraries_of_which_private_parts_are_used_have_an_upper_bound() -> None:
    """A new major release of them may break what is not promised."""
    project = tomllib.loads(PYPROJECT.read_text(encoding="utf-8"))["project"]
    bounded = {one for one in project["dependencies"] if ",<" in one}
    assert {one.partition(">")[0] for one in bounded} == {"pypdf", "reportlab"}
