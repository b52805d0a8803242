"""`certgen register`: what is said of certificates afterwards, and where the register goes."""

import json
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from certgen.cli.register import add
from certgen.errors import NotCompared
from certgen.register.audit import audit
from certgen.register.database import FILE_NAME
from certgen.register.register import Register
from tests.certificate.authority import authority
from tests.certificate.test_sign import time_service
from tests.cli.run import run
from tests.register.fakes import LATER, WHEN, held_of, small
from tests.register.old import FOLDER
from tests.register.records import real, real_pdf


@pytest.fixture
def at(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A register of three certificates in a folder, named by the environment."""
    monkeypatch.setenv("CERTGEN_REGISTER", str(tmp_path / "register"))
    monkeypatch.setenv("LOGNAME", "clerk")
    monkeypatch.chdir(tmp_path)
    opened = Register.open(str(tmp_path / "register"), create=True)
    for number, issued in (("A-1", "2014-05-01"), ("A-2", "2026-05-01")):
        opened.add(small(number, issued=issued, finished=issued), WHEN)
    opened.add(small("A-2", 1, issued="2026-06-01", finished="2026-05-01"), WHEN)
    return tmp_path / "register"


def ends(text: str) -> str:
    """Return the end of the first line of a list."""
    return text.splitlines()[1].rpartition("  ")[2]


@pytest.mark.usefixtures("at")
def test_withdrawn_certificate_is_shown_so(capsys: pytest.CaptureFixture[str]) -> None:
    """With who said it and why; once, and what it replaced counts again."""
    said = run(capsys, "register", "withdraw", "A-2", "--reason", "of line 4")
    assert (said.status, "certificate A-2, revision 1: withdrawn\nhead 4:" in said.out) == (0, True)
    listed = run(capsys, "register", "list").out.splitlines()
    assert listed[2].endswith("latest of its line")
    assert listed[3].endswith("withdrawn")
    shown = run(capsys, "register", "show", "A-2", "--revision", "1").out
    assert re.search(r"^withdrawn, entry 4: +20.*Z: of line 4$", shown, re.M)
    (mark,) = json.loads(run(capsys, "register", "show", "A-2", "--json").out)["marks"]
    assert (mark["by"]["user"], mark["reason"]) == ("clerk", "of line 4")
    again = run(capsys, "register", "withdraw", "A-2", "--reason", "again")
    assert (again.status, "was withdrawn before" in again.err) == (4, True)
    assert "A-2" in run(capsys, "register", "list", "--latest").out
    assert run(capsys, "register", "audit").status == 0


@pytest.mark.usefixtures("at")
@pytest.mark.parametrize("reason", ["  ", "a\x1b[31m", "x" * 2000])
def test_reason_that_says_nothing_or_too_much_is_wrong_usage(
    capsys: pytest.CaptureFixture[str], reason: str
) -> None:
    """Nothing is added."""
    assert run(capsys, "register", "withdraw", "A-2", "--reason", reason).status == 2
    assert run(capsys, "register", "head").out.startswith("3:")


@pytest.mark.usefixtures("at")
def test_note_names_the_certificates_touched(capsys: pytest.CaptureFixture[str]) -> None:
    """Those of the days asked for; one that nobody used is wrong usage, with one like it."""
    said = run(
        capsys, "register", "note", "--instrument", "sl-0417", "--since", "2020-01-01", "--reason", "off"
    )
    assert said.out.count("relies on sl-0417, noted") == 2
    assert "A-1" not in said.out
    assert run(capsys, "register", "list").out.count("deviates") == 2
    wrong = run(capsys, "register", "note", "--instrument", "SL-0418", "--reason", "off")
    assert (wrong.status, "Did you mean SL-0417?" in wrong.err) == (2, True)


def test_disposed_certificate_keeps_its_digests(
    at: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its bytes are nowhere in the folder any more; the rest is audited as before."""
    monkeypatch.setattr("certgen.cli.register.dispose.now", lambda: LATER)
    digest = small("A-1", issued="2014-05-01", finished="2014-05-01").digests()["certificate.pdf"]
    asked = ("register", "dispose", "--before", "2016-01-01", "--reason", "ten years")
    only_listed = run(capsys, *asked)
    assert only_listed.out == (
        "certificate A-1, revision 0: would be disposed of\nNothing was removed. Pass --yes to remove them.\n"
    )
    piece = Register.open(str(at)).file(digest)[300:700]
    assert any(piece in path.read_bytes() for path in at.iterdir())
    done = run(capsys, *asked, "--yes")
    assert "certificate A-1, revision 0: disposed of" in done.out
    assert not any(piece in path.read_bytes() for path in at.iterdir())
    audited = run(capsys, "register", "audit")
    assert (audited.status, "certificate A-1, revision 0 (entry 1) was disposed of" in audited.out) == (
        0,
        True,
    )
    gone = run(capsys, "register", "show", "A-1", "-o", "a.pdf")
    assert (gone.status, "was disposed of" in gone.err) == (4, True)
    assert digest in run(capsys, "register", "show", "A-1").out
    assert ends(run(capsys, "register", "list").out).endswith("disposed of")
    assert "would be" not in run(capsys, *asked).out
    assert run(capsys, "register", "export", "--folder", "out").status == 0
    assert not list(Path("out").glob("*A-1*"))


@pytest.mark.usefixtures("at")
def test_nothing_is_disposed_of_too_early(capsys: pytest.CaptureFixture[str]) -> None:
    """Neither what was recorded a moment ago, nor what will be issued up to a day to come."""
    asked = ("register", "dispose", "--reason", "x")
    early = run(capsys, *asked, "A-1")
    assert (early.status, "less than 365 days ago; nothing was removed" in early.err) == (4, True)
    ahead = run(capsys, *asked, "--before", "2999-01-01", "--yes")
    assert (ahead.status, "is still to come" in ahead.err) == (2, True)
    assert run(capsys, "register", "head").out.startswith("3:")


@pytest.mark.usefixtures("at")
@pytest.mark.parametrize("arguments", [(), ("A-1", "--before", "2016-01-01"), ("--revision", "1")])
def test_dispose_of_nothing_named_is_wrong_usage(
    capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...]
) -> None:
    """A number, or a day."""
    assert run(capsys, "register", "dispose", *arguments, "--reason", "x").status == 2


@pytest.mark.usefixtures("at")
def test_backup_and_copy_end_at_the_same_head(capsys: pytest.CaptureFixture[str]) -> None:
    """Which is printed, and stands beside the backup; neither fills what is there."""
    head = run(capsys, "register", "head").out.strip()
    backup = run(capsys, "register", "backup", "safe")
    assert (backup.status, backup.out) == (0, f"Wrote 3 entries into safe.\nhead {head}\n")
    assert Path("safe/head.txt").read_text("ascii") == f"{head}\n"
    assert run(capsys, "register", "copy", "safe", "copied").out.endswith(f"head {head}\n")
    assert run(capsys, "register", "audit", "--register", "copied", "--expect", head).status == 0
    assert run(capsys, "register", "backup", "safe").status == 4
    assert run(capsys, "register", "backup", "postgresql://host/name").status == 2
    assert run(capsys, "register", "copy", "nowhere", "there").status == 2
    assert not Path("there").exists()


def test_old_register_is_read_and_upgraded(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What would write into it says how to bring it to today's form; a newer one is no broken one."""
    place, named = tmp_path / "old", ("--register", str(tmp_path / "old"))
    place.mkdir()
    (place / FILE_NAME).write_bytes((FOLDER / "sign_afterwards.sqlite").read_bytes())
    assert "TB-2026-014" in run(capsys, "register", "list", *named).out
    head = run(capsys, "register", "head", *named).out.strip()
    refused = run(capsys, "register", "reserve", *named)
    assert (refused.status, "certgen register upgrade" in refused.err) == (4, True)
    assert run(capsys, "register", "withdraw", "A-001", "--reason", "x", *named).status == 4
    done = run(capsys, "register", "upgrade", *named)
    assert done.out == f"Brought to today's form in 1 step: mark and pack.\nhead {head}\n"
    assert "already" in run(capsys, "register", "upgrade", *named).out
    assert run(capsys, "register", "reserve", *named).status == 0


@pytest.mark.usefixtures("at")
def test_list_comes_in_pages(capsys: pytest.CaptureFixture[str]) -> None:
    """The second of three."""
    shown = run(capsys, "register", "list", "--limit", "1", "--offset", "1").out
    assert "1 certificate." in shown
    assert "replaced by A-2, revision 1" in shown


@pytest.mark.usefixtures("at")
@pytest.mark.parametrize("written", ["3:0123456789abcde", "0123456789abcdef0123", "x"])
def test_short_head_is_refused(capsys: pytest.CaptureFixture[str], written: str) -> None:
    """The count and sixteen digits are needed."""
    ended = run(capsys, "register", "audit", "--expect", written)
    assert (ended.status, "at least 16 digits" in ended.err) == (2, True)


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder with the certificate of the tutorial, and no register."""
    monkeypatch.setenv("CERTGEN_REGISTER", str(tmp_path / "register"))
    monkeypatch.chdir(tmp_path)
    Path("tutorial.pdf").write_bytes(real_pdf("tutorial"))
    return tmp_path


def test_certificate_that_is_too_large_is_refused(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Before it is verified; the limit is the user's."""
    ended = run(capsys, "register", "add", "tutorial.pdf", "--max-size", "0.01")
    assert (ended.status, "--max-size" in ended.err) == (4, True)
    assert not (kept / "register").exists()


@pytest.mark.usefixtures("kept")
def test_certificate_whose_pages_were_not_compared_is_taken_only_when_asked(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its entry says so."""

    def verified(*_arguments: object, accept_unprinted: bool) -> str:
        if not accept_unprinted:
            raise NotCompared("tutorial.pdf: printed by another form")
        return "results verified"

    monkeypatch.setattr(add, "require_verified", verified)
    assert run(capsys, "register", "add", "tutorial.pdf").status == 6
    assert run(capsys, "register", "add", "tutorial.pdf", "--accept-unprinted").status == 0
    shown = run(capsys, "register", "show", "TB-2026-014").out
    assert re.search(r"^accepted: +results verified, pages not compared$", shown, re.M)
    assert re.search(r"^recorded by: +\S.* at \S+, certgen ", shown, re.M)
    assert re.search(r"^approved by: +\S", shown, re.M)


def test_audit_verifies_every_certificate_anew(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What an entry says of a line is held against the survey, too, which the quick audit does not."""
    assert run(capsys, "register", "add", "tutorial.pdf").status == 0
    sound = run(capsys, "register", "audit", "--verify")
    assert (sound.status, sound.out.splitlines()[-1]) == (0, "1 verified.")
    held = real("winder_inch")
    opened = Register.open(str(kept / "register"))
    one = held_of(held.certificate, held.files["survey.yaml"], held.files["results.json"])
    opened.add(one, WHEN)  # a PDF without pages: nothing that the quick audit looks at
    assert audit(opened).holds
    ended = run(capsys, "register", "audit", "--verify")
    assert (ended.status, "entry 2: certificate FC-2026-031, revision 0" in ended.err) == (5, True)
    assert run(capsys, "register", "audit", "--jobs", "2").status == 2


@pytest.mark.usefixtures("at")
def test_head_is_time_stamped(capsys: pytest.CaptureFixture[str]) -> None:
    """The token beside the file is of exactly its bytes, and holds for whoever knows the authority."""
    with time_service() as service:
        ended = run(capsys, "register", "head", "-o", "2026.head", "--stamp", service)
    assert (ended.status, ended.err) == (0, "Wrote 2026.head and 2026.head.tst.\n")
    assert Path("2026.head").read_text("ascii") == ended.out
    Path("authority.pem").write_bytes(authority().pem())
    command = ["openssl", "ts", "-verify", "-data", "2026.head", "-in", "2026.head.tst", "-token_in"]
    done = subprocess.run([*command, "-CAfile", "authority.pem"], capture_output=True, text=True, check=False)
    assert "Verification: OK" in done.stdout + done.stderr
    Path("2026.head").write_text("4:0", "ascii")
    done = subprocess.run([*command, "-CAfile", "authority.pem"], capture_output=True, text=True, check=False)
    assert done.returncode != 0


@pytest.mark.usefixtures("at")
def test_service_that_gives_no_time_stamp_leaves_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    """Neither head nor token; a stamp without a file to stand beside is wrong usage."""
    ended = run(capsys, "register", "head", "-o", "h", "--stamp", "http://127.0.0.1:9/")
    assert (ended.status, "gave no time stamp" in ended.err) == (4, True)
    assert not Path("h").exists()
    assert run(capsys, "register", "head", "--stamp", "http://127.0.0.1:9/").status == 2
