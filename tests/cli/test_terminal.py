"""What a file says, or is called, steers no terminal, turns no letters round and makes no line of its own."""

import json
from pathlib import Path

import pytest

from certgen.register.register import Register
from tests.cli.run import ROOT, Ended, run
from tests.register.fakes import WHEN, small

HOSTILE = "A\x1b[2J\r\u202eB\x9b\u2066\x85\nFORGED 1 holds"
SHOWN = r"A\x1b[2J\r\u202eB\x9b\u2066\x85\nFORGED 1 holds"
STEERS = set("\x1b\r\u202e\x9b\u2066\x85")


def harmless(ended: Ended) -> bool:
    """Return whether nothing of it reached the terminal, as a letter or as a line."""
    told = ended.out + ended.err
    return not STEERS & set(told) and not any(line.startswith("FORGED") for line in told.split("\n"))


@pytest.fixture
def register(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A register that took in, by other means than ours, a certificate whose every name is hostile."""
    where = tmp_path / "register"
    monkeypatch.setenv("CERTGEN_REGISTER", str(where))
    said = dict.fromkeys(("line", "asset", "customer", "contractor", "location", "order"), HOSTILE)
    Register.open(str(where), create=True).add(small(HOSTILE, **said), WHEN)
    return where


@pytest.mark.usefixtures("register")
@pytest.mark.parametrize(
    "arguments", [("list",), ("show", HOSTILE), ("due", "--on", "2030-01-01"), ("audit",)], ids=lambda a: a[0]
)
def test_register_prints_names_as_one_harmless_line(
    arguments: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    """In tables, in what is shown of one certificate, and in what an audit finds."""
    assert harmless(ended := run(capsys, "register", *arguments)), ended


@pytest.mark.usefixtures("register")
@pytest.mark.parametrize(
    "arguments", [("list",), ("show", HOSTILE), ("due", "--on", "2030-01-01")], ids=lambda a: a[0]
)
def test_json_of_a_register_holds_names_as_they_are(
    arguments: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    """It can be read back, and yet steers no terminal."""
    ended = run(capsys, "register", *arguments, "--json")
    assert (ended.status, harmless(ended)) == (0, True)
    assert HOSTILE in _texts(json.loads(ended.out))


def _texts(found: object) -> list[str]:
    if isinstance(found, dict):
        found = list(found.values())
    return [text for one in found for text in _texts(one)] if isinstance(found, list) else [str(found)]


@pytest.mark.usefixtures("register")
@pytest.mark.parametrize("command", ["withdraw", "note"])
def test_what_is_said_of_a_certificate_afterwards_is_told_in_one_line(
    command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its number is what the register holds of it, which is not always what certgen would have taken."""
    chosen = ("--instrument", "SL-0417") if command == "note" else (HOSTILE,)
    ended = run(capsys, "register", command, *chosen, "--reason", "read anew")
    assert harmless(ended), ended


@pytest.mark.parametrize(
    "command",
    ["check", "solve", "moves", "issue", "verify", "extract", "study", "compare", "trend", "batch"],
)
@pytest.mark.parametrize("there", [False, True])
def test_name_of_a_file_is_told_in_one_line(
    command: str, there: bool, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One that is missing, and one that is no survey, PDF or folder."""
    file = tmp_path / HOSTILE
    if there:
        file.write_text("survey: 1\n")
    files = [file, file] if command in {"compare", "trend"} else [file]
    ended = run(capsys, command, *files)
    assert ended.status != 0
    assert harmless(ended), ended
    assert SHOWN in ended.out + ended.err


def test_what_was_written_is_told_in_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Also where the name of the output is hostile."""
    target = tmp_path / f"{HOSTILE}.yaml"
    ended = run(capsys, "new", target)
    assert (ended.status, harmless(ended)) == (0, True), ended
    assert SHOWN in ended.out + ended.err


def test_batch_tells_a_hostile_name_in_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A survey that is sound and one that is not, both under such a name."""
    sound = (ROOT / "sample_surveys" / "tutorial.yaml").read_text("utf-8")
    (tmp_path / f"{HOSTILE}.yaml").write_text(sound, "utf-8")
    (tmp_path / f"{HOSTILE}2.yaml").write_text("survey: 1\n", "utf-8")
    ended = run(capsys, "batch", tmp_path, "-o", tmp_path / "out", "--jobs", 1)
    assert harmless(ended), ended
    assert ended.out.count(SHOWN) >= 2
