"""`certgen register`: its commands as a user calls them, on a register in a folder."""

import json
import os
import re
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from certgen import resources
from certgen.register.register import Register
from tests.certificate.authority import PASSPHRASE, key_file, signer
from tests.cli.run import Ended, run, start
from tests.register.fakes import WHEN, small
from tests.register.tamper import tamper

SAMPLES = resources.sample_surveys()
TUTORIAL = SAMPLES / "tutorial.yaml"


@pytest.fixture(scope="module")
def pdf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The certificate of the tutorial."""
    target = tmp_path_factory.mktemp("issued") / "tutorial.pdf"
    assert start("issue", TUTORIAL, "-o", target).status == 0
    return target


@pytest.fixture
def at(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder for a register, named by the environment."""
    monkeypatch.setenv("CERTGEN_REGISTER", str(tmp_path / "register"))
    monkeypatch.chdir(tmp_path)
    return tmp_path / "register"


def head_of(ended: Ended) -> str:
    """Return the head that a command printed."""
    (head,) = [line.split()[1] for line in ended.out.splitlines() if line.startswith("head ")]
    return head


@pytest.mark.usefixtures("at")
def test_add_keeps_a_certificate(pdf: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Once, however often it is added; the head stays."""
    first = run(capsys, "register", "add", pdf)
    assert (first.status, "revision 0, added as entry 1" in first.out) == (0, True)
    again = run(capsys, "register", "add", pdf)
    assert "is there already as entry 1" in again.out
    assert head_of(first) == head_of(again)


@pytest.mark.usefixtures("at")
def test_add_refuses_what_does_not_verify_and_goes_on(pdf: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A changed byte, and a file that is none of certgen's; the sound one beside them is added."""
    changed = Path("changed.pdf")
    data = pdf.read_bytes()
    changed.write_bytes(data[:2000] + bytes([data[2000] ^ 1]) + data[2001:])
    Path("other.pdf").write_bytes(b"%PDF-1.7\n")
    ended = run(capsys, "register", "add", changed, "other.pdf", pdf)
    assert ended.status == 5
    assert "changed.pdf" in ended.err
    assert "other.pdf" in ended.err
    assert "added as entry 1" in ended.out


def test_add_of_nothing_sound_makes_no_register(at: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing to keep, so nothing is made."""
    Path("other.pdf").write_bytes(b"%PDF-1.7\n")
    ended = run(capsys, "register", "add", "other.pdf", "missing.pdf")
    assert (ended.status, ended.out) == (5, "")
    assert not at.exists()


def test_add_tells_a_register_out_of_reach_once(
    at: Path, pdf: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """And goes no further: no other file could be added either."""
    at.write_text("a file", "utf-8")
    ended = run(capsys, "register", "add", pdf, pdf)
    assert (ended.status, ended.out, ended.err.count("this is a file")) == (2, "", 1)


@pytest.mark.usefixtures("at")
def test_reserve_prints_numbers_in_turn(capsys: pytest.CaptureFixture[str]) -> None:
    """Only the number, so that a script can take it."""
    assert [run(capsys, "register", "reserve", "--prefix", "FC-").out for _ in "12"] == [
        "FC-001\n",
        "FC-002\n",
    ]


def test_reserve_takes_its_prefix_from_the_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """certgen.toml names register and prefix, also for the folders below it."""
    (tmp_path / "certgen.toml").write_text('[register]\nat = "kept"\nnumber_prefix = "FC-2026-"\n', "utf-8")
    (tmp_path / "surveys").mkdir()
    monkeypatch.delenv("CERTGEN_REGISTER", raising=False)
    monkeypatch.chdir(tmp_path / "surveys")
    ended = run(capsys, "register", "reserve")
    assert ended.out == "FC-2026-001\n"
    assert ended.err == f"The register is {tmp_path / 'kept'}, as {tmp_path / 'certgen.toml'} says.\n"
    assert (tmp_path / "kept" / "register.sqlite").is_file()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (None, "CERTGEN_REGISTER"),
        ("register = [", "certgen.toml:1: this is not TOML"),
        ("register = 1", "certgen.toml:1: register: write a table"),
        ("[register]\nat = 5", "certgen.toml:2: at: write a text"),
        ('[register]\nat = "../kept"', "certgen.toml:2: at: name a folder within"),
        ('[register]\n\nat = " "', "certgen.toml:3: at: name a folder"),
        ('[house]\n[registre]\nat = "x"', "certgen.toml:2: registre: unknown key"),
    ],
)
def test_register_that_nothing_names_is_wrong_usage(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    text: str | None,
    message: str,
) -> None:
    """The message says how to name one."""
    if text is not None:
        (tmp_path / "certgen.toml").write_text(text, "utf-8")
    monkeypatch.delenv("CERTGEN_REGISTER", raising=False)
    monkeypatch.chdir(tmp_path)
    ended = run(capsys, "register", "list")
    assert (ended.status, message in ended.err) == (2, True)


def test_issue_records_before_it_writes(at: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The register holds the very bytes of the file; a number that is taken is refused."""
    assert run(capsys, "issue", TUTORIAL, "-o", "one.pdf", "--record").status == 0
    show = run(capsys, "register", "show", "TB-2026-014", "-o", "copy.pdf")
    assert "as left:" in show.out
    assert Path("copy.pdf").read_bytes() == Path("one.pdf").read_bytes()
    refused = run(capsys, "issue", TUTORIAL, "-o", "a5.pdf", "--paper", "A5", "--register", at)
    assert (refused.status, "another one" in refused.err) == (4, True)
    assert not Path("a5.pdf").exists()
    assert run(capsys, "issue", TUTORIAL, "-o", "again.pdf", "--record").status == 0


def test_issue_into_a_missing_folder_records_nothing(at: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What cannot be handed out is not in the register."""
    assert run(capsys, "issue", TUTORIAL, "-o", "missing/one.pdf", "--record").status == 4
    assert not at.exists()


@pytest.mark.usefixtures("at")
def test_issue_signed_again_writes_the_recorded_one(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A signature holds its time: the one in the register is the certificate, and is written again."""
    monkeypatch.setenv("CERTGEN_PASSPHRASE", PASSPHRASE)
    Path("approver.p12").write_bytes(key_file(signer()))
    signed = ("--sign", "approver.p12", "--record")
    assert run(capsys, "issue", TUTORIAL, "-o", "one.pdf", *signed).status == 0
    assert run(capsys, "issue", TUTORIAL, "-o", "two.pdf", *signed).status == 0
    assert Path("one.pdf").read_bytes() == Path("two.pdf").read_bytes()
    assert run(capsys, "issue", TUTORIAL, "-o", "plain.pdf", "--record").status == 4


@pytest.mark.usefixtures("at")
def test_certificate_signed_after_it_was_recorded_is_added(
    pdf: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """As its signed form, which is shown from then on; what is appended and is no signature is not."""
    monkeypatch.setenv("CERTGEN_PASSPHRASE", PASSPHRASE)
    Path("approver.p12").write_bytes(key_file(signer()))
    assert run(capsys, "register", "add", pdf).status == 0
    assert run(capsys, "issue", TUTORIAL, "-o", "signed.pdf", "--sign", "approver.p12").status == 0
    added = run(capsys, "register", "add", "signed.pdf")
    assert (added.status, "added as entry 2, the signed form of entry 1" in added.out) == (0, True)
    shown = run(capsys, "register", "show", "TB-2026-014", "-o", "shown.pdf").out
    assert re.search(r"^signed, entry 2: +recorded", shown, re.MULTILINE)
    assert Path("shown.pdf").read_bytes() == Path("signed.pdf").read_bytes()
    Path("more.pdf").write_bytes(pdf.read_bytes() + b"more")
    assert run(capsys, "register", "add", "more.pdf").status == 5
    assert run(capsys, "register", "audit").status == 0


@pytest.mark.usefixtures("at")
def test_show_tells_what_is_not_there(pdf: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 2; an output that exists is left alone."""
    run(capsys, "register", "add", pdf)
    assert run(capsys, "register", "show", "TB-2026-015").status == 2
    assert run(capsys, "register", "show", "TB-2026-014", "-o", pdf).status == 4
    body = json.loads(run(capsys, "register", "show", "TB-2026-014", "--json").out)
    assert body["certificate"]["line"] == "Inspection rewinder"


@pytest.mark.usefixtures("at")
def test_show_replaces_only_where_asked(
    pdf: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """And says of a folder that it is one."""
    run(capsys, "register", "add", pdf)
    Path("one.pdf").write_bytes(b"other")
    assert run(capsys, "register", "show", "TB-2026-014", "-o", "one.pdf").status == 4
    assert run(capsys, "register", "show", "TB-2026-014", "-o", "one.pdf", "--replace").status == 0
    assert Path("one.pdf").read_bytes() == pdf.read_bytes()
    assert "this is a folder" in run(capsys, "register", "show", "TB-2026-014", "-o", tmp_path).err


@pytest.mark.usefixtures("at")
def test_file_that_cannot_be_read_does_not_stop_the_others(
    pdf: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever may not read one adds the rest, and is told which one."""
    Path("secret.pdf").write_bytes(pdf.read_bytes())
    monkeypatch.setattr(os, "access", lambda path, _mode: Path(path) != Path("secret.pdf"))
    plain = Path.open

    def opened(path: Path, *arguments: Any, **more: Any) -> Any:
        if path == Path("secret.pdf"):
            raise PermissionError(13, "Permission denied")
        return plain(path, *arguments, **more)

    monkeypatch.setattr(Path, "open", opened)
    ended = run(capsys, "register", "add", "secret.pdf", pdf)
    assert (ended.status, "added as entry 1" in ended.out) == (2, True)
    assert ended.err == "secret.pdf: cannot be read: Permission denied. Check its permissions and its name.\n"


@pytest.mark.usefixtures("at")
def test_list_filters(pdf: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """As a table and as JSON."""
    run(capsys, "register", "add", pdf)
    assert "TB-2026-014" in run(capsys, "register", "list", "--line", "inspection rewinder").out
    assert run(capsys, "register", "list", "--since", "2027-01-01").out == "0 certificates.\n"
    (one,) = json.loads(run(capsys, "register", "list", "--verdict", "pass", "--json").out)
    assert (one["number"], one["as_found"]) == ("TB-2026-014", "fail")


def test_replaced_certificate_is_told(at: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """By list, which can leave it out, and by show; names that are very long are folded."""
    opened = Register.open(str(at), create=True)
    opened.add(small("A-1", customer="C" * 300), WHEN)
    assert (
        run(capsys, "register", "list").out.splitlines()[1].endswith("fail      pass     latest of its line")
    )
    opened.add(small("B-7", 1, issued="2026-11-01", supersedes="A-1, revision 0"), WHEN)
    listed = run(capsys, "register", "list").out
    assert listed.splitlines()[1].endswith("fail      pass     replaced by B-7, revision 1")
    assert max(map(len, listed.splitlines())) < 160
    assert "A-1" not in run(capsys, "register", "list", "--in-force").out
    assert re.search(
        r"^standing: +replaced by B-7, revision 1$", run(capsys, "register", "show", "A-1").out, re.M
    )
    assert json.loads(run(capsys, "register", "show", "B-7", "--json").out)["replaced_by"] is None
    run(capsys, "register", "export", "-o", "kept.json", "--in-force")
    kept = json.loads(Path("kept.json").read_text("utf-8"))["entries"]
    assert [one["certificate"]["number"] for one in kept] == ["B-7"]


@pytest.mark.usefixtures("at")
def test_due_says_lines_and_calibrations(pdf: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """In words and as JSON."""
    run(capsys, "register", "add", pdf)
    words = run(capsys, "register", "due", "--on", "2027-03-04").out
    assert "Lines due for a survey on 2027-03-04: 1" in words
    assert "Calibrations that ran out before 2027-03-04: 2" in words
    told = json.loads(run(capsys, "register", "due", "--on", "2026-09-16", "--json").out)
    assert told["lines"] == []
    assert told["instruments"][0]["certificates"] == [{"number": "TB-2026-014", "revision": 0}]


@pytest.mark.usefixtures("at")
def test_export_writes_tables_and_a_folder(pdf: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Each whole or not at all, and never over something that exists."""
    run(capsys, "register", "add", pdf)
    for name in ("all.csv", "all.json", "all.xlsx"):
        assert run(capsys, "register", "export", "-o", name).status == 0
        assert run(capsys, "register", "export", "-o", name).status == 4
    nothing = run(capsys, "register", "export", "-o", "none.csv", "--line", "no such line")
    assert nothing.out == "Wrote 0 certificates into none.csv.\n"
    assert run(capsys, "register", "export", "--folder", "out/for_the_auditor").status == 0
    assert (Path("out/for_the_auditor") / "000001_TB-2026-014_0.pdf").read_bytes() == pdf.read_bytes()
    assert [path.name for path in Path("out").iterdir()] == ["for_the_auditor"]
    assert run(capsys, "register", "export", "--folder", "out/for_the_auditor").status == 4


@pytest.mark.usefixtures("at")
@pytest.mark.parametrize("arguments", [(), ("-o", "a.csv", "--folder", "b"), ("-o", "a.txt")])
def test_export_of_nothing_known_is_wrong_usage(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...]
) -> None:
    """One thing to write, of a kind that is known."""
    run(capsys, "register", "reserve")
    assert run(capsys, "register", "export", *arguments).status == 2


def test_audit_ends_in_5_where_it_does_not_hold(
    at: Path, pdf: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Sound, sound against its head, changed."""
    head = head_of(run(capsys, "register", "add", pdf))
    assert run(capsys, "register", "audit").status == 0
    sound = run(capsys, "register", "audit", "--expect", head[:18])
    assert (sound.status, head_of(sound)) == (0, head)
    assert run(capsys, "register", "audit", "--expect", "2" + head[1:]).status == 5
    assert run(capsys, "register", "audit", "--expect", "none").status == 2
    with sqlite3.connect(at / "register.sqlite") as connection:
        connection.execute("DROP TRIGGER guard_certificates_update")
        connection.execute("UPDATE certificates SET as_found = 'pass'")
    changed = run(capsys, "register", "audit")
    assert changed.status == 5
    assert "entry 1: the rows of it in certificates say something else" in changed.err


@pytest.mark.parametrize("command", ["list", "audit", "due"])
def test_reading_commands_make_no_register(
    at: Path, capsys: pytest.CaptureFixture[str], command: str
) -> None:
    """Exit 2, and no folder left behind."""
    assert run(capsys, "register", command).status == 2
    assert not at.exists()


def test_register_help_names_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    """Each with its summary."""
    shown = run(capsys, "register", "--help").out
    for name in ("add", "reserve", "list", "show", "due", "export", "audit"):
        assert f"\n  {name} " in shown
        assert run(capsys, "register", name, "--help").status == 0


def test_changed_register_is_not_handed_on(at: Path, pdf: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Neither as a table nor as a folder nor as a site: exit 5 with what was changed, nothing written."""
    run(capsys, "register", "add", pdf)
    with sqlite3.connect(at / "register.sqlite") as connection:
        for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute("UPDATE certificates SET customer = 'Other Films'")
    for arguments in (("export", "-o", "a.csv"), ("export", "--folder", "out"), ("site", "out")):
        ended = run(capsys, "register", *arguments)
        assert (ended.status, "does not hold what was added" in ended.err) == (5, True)
    assert not Path("out").exists()
    assert not Path("a.csv").exists()


def test_register_is_named_in_one_way(at: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The one set up here or another one; both at once would record in one of them only."""
    ended = run(capsys, "issue", TUTORIAL, "-o", "one.pdf", "--record", "--register", "other")
    assert (ended.status, "pass either" in ended.err) == (2, True)
    assert not at.exists()
    assert list(Path().iterdir()) == []


BROKEN = {
    "a table gone": ["DROP TABLE signatures"],
    "a table gone that few commands need": ["DROP TABLE reservations"],
    "a column gone": [
        "CREATE TABLE other AS SELECT sequence, number FROM certificates",
        "DROP TABLE certificates",
        "ALTER TABLE other RENAME TO certificates",
    ],
    "the head gone": ["DROP TRIGGER IF EXISTS guard_head_delete", "DELETE FROM head"],
}
READING = (
    ("list",),
    ("show", "TB-2026-014"),
    ("due",),
    ("reserve", "--prefix", "FC-"),
    ("audit",),
    ("export", "-o", "table.csv"),
    ("site", "site"),
)


@pytest.mark.parametrize("statements", BROKEN.values(), ids=BROKEN)
def test_broken_register_ends_every_command_alike(
    statements: list[str], at: Path, pdf: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit 5, whatever of it a command would need, and what to do about it."""
    assert run(capsys, "register", "add", pdf).status == 0
    with sqlite3.connect(at / "register.sqlite") as connection:
        connection.execute("PRAGMA foreign_keys = OFF")
        for statement in statements:
            connection.execute(statement)
    connection.close()
    for command in (*READING, ("add", str(pdf))):
        ended = run(capsys, "register", *command)
        assert (command, ended.status) == (command, 5)
        assert "put a backup" in ended.err or command in (("audit",), READING[-1], READING[-2])


def test_register_that_was_cut_off_is_broken(at: Path, pdf: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """As far as the database can tell, for every command that meets it."""
    assert run(capsys, "register", "add", pdf).status == 0
    with sqlite3.connect(at / "register.sqlite") as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()
    data = (at / "register.sqlite").read_bytes()
    for length in (len(data) // 2 + 100, 8000, 50):
        for beside in at.glob("register.sqlite-*"):
            beside.unlink()
        (at / "register.sqlite").write_bytes(data[:length])
        for command in (("list",), ("audit",), ("export", "-o", "table.csv")):
            ended = run(capsys, "register", *command)
            assert (length, command, ended.status) == (length, command, 5), ended
        assert "put a backup of it in its place" in run(capsys, "register", "list").err


def test_audit_of_a_large_register_by_two_processes_finds_the_same(
    at: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A changed row and a changed file: what is found and said is what one process says."""
    opened = Register.open(str(at), create=True)
    for number in range(3):
        opened.add(small(f"N-{number}"), WHEN)
    opened.engine.dispose()
    monkeypatch.setattr("certgen.cli.register.audit.cores", lambda: 2)
    monkeypatch.setattr("certgen.cli.register.audit._MANY", 1)
    assert "3 entries: nothing was changed" in run(capsys, "register", "audit").out
    tamper(
        str(at), ["UPDATE certificates SET as_left = 'fail' WHERE sequence = 2", "UPDATE files SET data = ''"]
    )
    by_two = run(capsys, "register", "audit")
    monkeypatch.setattr("certgen.cli.register.audit._MANY", 5000)
    assert (by_two.status, by_two) == (5, run(capsys, "register", "audit"))
    assert "entry 2: the rows of it in certificates say something else" in by_two.err
    assert "survey.yaml of certificate N-0, revision 0, is not what was added" in by_two.err
