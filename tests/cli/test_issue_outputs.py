"""`certgen issue` with several outputs: all checked first, all written, none half."""

import sys
from pathlib import Path

import pytest

from certgen import resources
from certgen.cli.io.write import require_free, write_all
from certgen.cli.publish import Asked
from certgen.errors import CannotWrite, WouldReplace, WrongUsage
from tests.cli.run import ROOT, run
from tests.test_startup import loaded_by

pytest.importorskip("xlsxwriter", reason="no XlsxWriter to make a workbook")

TUTORIAL = resources.sample_surveys() / "tutorial.yaml"
OUTPUTS = ("o.pdf", "o.html", "tables", "o.xlsx", "o.txt")


def asked(folder: Path) -> tuple[object, ...]:
    """Return the options that ask for everything, in that folder."""
    pairs = zip(("-o", "--html", "--csv", "--xlsx", "--letter"), OUTPUTS, strict=True)
    return tuple(part for option, name in pairs for part in (option, folder / name))


def test_issue_writes_every_output(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """PDF, page, tables, workbook and letter, and nothing else."""
    ended = run(capsys, "issue", TUTORIAL, *asked(tmp_path), "--lang", "es")
    assert (ended.status, ended.err) == (0, "")
    assert {path.name for path in tmp_path.iterdir()} == set(OUTPUTS)
    assert (tmp_path / "o.html").read_text("utf-8").startswith('<!DOCTYPE html>\n<html lang="es">')
    assert (tmp_path / "o.xlsx").read_bytes().startswith(b"PK")
    assert "La línea como se dejó: conforme" in " ".join((tmp_path / "o.txt").read_text("utf-8").split())
    assert len(list((tmp_path / "tables").glob("*.csv"))) > 10


def test_issue_writes_the_same_bytes_again(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Every output."""
    found = []
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        run(capsys, "issue", TUTORIAL, *asked(tmp_path / name))
        files = sorted(path for path in (tmp_path / name).rglob("*") if path.is_file())
        found.append([(path.name, path.read_bytes()) for path in files])
    assert found[0] == found[1]


@pytest.mark.parametrize("name", ["o.pdf", "o.html", "o.xlsx", "o.txt", "tables/07_parallel.csv"])
def test_output_that_exists_stops_all_others(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 4, the old bytes, nothing new; --replace replaces."""
    old = tmp_path / name
    old.parent.mkdir(exist_ok=True)
    old.write_bytes(b"old")
    ended = run(capsys, "issue", TUTORIAL, *asked(tmp_path))
    assert ended.status == 4
    assert name in ended.err
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == [old]
    assert old.read_bytes() == b"old"
    assert run(capsys, "issue", TUTORIAL, *asked(tmp_path), "--replace").status == 0
    assert old.read_bytes() != b"old"


@pytest.mark.parametrize(
    ("option", "value", "status"),
    [
        ("--html", "absent/o.html", 4),
        ("--csv", "absent/tables", 4),
        ("--xlsx", ".", 4),
        ("--letter", "o.pdf", 2),
        ("--lang", "xx", 2),
    ],
)
def test_output_that_cannot_be_stops_all_others(
    option: str, value: str, status: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """No folder, a folder, a name twice, a language there is not."""
    value = value if option == "--lang" else str(tmp_path / value)
    ended = run(capsys, "issue", TUTORIAL, "-o", tmp_path / "o.pdf", option, value)
    assert ended.status == status
    assert list(tmp_path.iterdir()) == []


def test_csv_into_a_file_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The file stays."""
    (tmp_path / "tables").write_bytes(b"old")
    assert run(capsys, "issue", TUTORIAL, *asked(tmp_path)).status == 4
    assert [path.name for path in tmp_path.iterdir()] == ["tables"]


def test_files_that_were_new_go_again_where_one_fails(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A disk that fills up leaves neither files nor the folder; what was replaced cannot come back."""
    from certgen.cli.io import write as outputs

    def full(path: Path, data: bytes, _replace: bool) -> None:
        if path.name == "c":
            raise CannotWrite(path, "no space.")
        path.write_bytes(data)

    monkeypatch.setattr(outputs, "write_new", full)
    folder = tmp_path / "tables"
    with pytest.raises(CannotWrite):
        write_all({tmp_path / "a": b"1", folder / "b": b"2", folder / "c": b"3"}, [folder], False)
    assert list(tmp_path.iterdir()) == []


def test_targets_are_checked_before_anything_is_made(tmp_path: Path) -> None:
    """Twice the same, there already, no folder."""
    with pytest.raises(WrongUsage):
        require_free([tmp_path / "a", tmp_path / "." / "a"], replace=True)
    (tmp_path / "b").touch()
    with pytest.raises(WouldReplace):
        require_free([tmp_path / "b"], replace=False)
    with pytest.raises(CannotWrite):
        require_free([tmp_path / "none" / "b"], replace=True)
    Asked(tmp_path / "line.yaml", csv=tmp_path / "tables").require_free()


def test_workbook_without_its_library_is_exit_2(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The message says what to install, and nothing is written."""
    monkeypatch.setitem(sys.modules, "xlsxwriter", None)
    ended = run(capsys, "issue", TUTORIAL, "-o", tmp_path / "o.pdf", "--xlsx", tmp_path / "o.xlsx")
    assert (ended.status, "certgen[xlsx]" in ended.err) == (2, True)
    assert list(tmp_path.iterdir()) == []


def test_issue_loads_only_what_is_asked_for(tmp_path: Path) -> None:
    """A certificate alone needs no workbook, no CSV, no pictures of a house and no page."""
    modules = loaded_by(
        "issue", str(ROOT / "sample_surveys" / "tutorial.yaml"), "-o", str(tmp_path / "o.pdf")
    )
    assert {"reportlab", "jinja2"} <= modules
    assert modules & {"xlsxwriter", "svglib", "lxml"} == set()


def test_letter_names_what_is_left_outside(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Who, in what, and that the certificate alone holds."""
    survey = resources.sample_surveys() / "dryer_mixed.yaml"
    ended = run(capsys, "issue", survey, "-o", tmp_path / "o.pdf", "--letter", tmp_path / "o.txt")
    text = (tmp_path / "o.txt").read_text("utf-8")
    assert ended.status == 0
    assert "Not passed as left: D4 (parallel)." in text
    assert "isolate, lock out and tag out, release stored energy, then verify zero energy" in " ".join(
        text.split()
    )
    assert "does not replace it" in " ".join(text.split())
    assert max(map(len, text.splitlines())) <= 76
