"""`certgen issue --sign`: key, passphrase and time stamp as a user gives them."""

from pathlib import Path

import pytest

from certgen import resources
from certgen.cli import signing
from certgen.verify.pdf_bytes import revisions
from tests.certificate.authority import PASSPHRASE, authority, key_file, signer
from tests.certificate.forge import recorded
from tests.certificate.pdfa import broken_rules
from tests.cli.run import Ended, run

TUTORIAL = resources.sample_surveys() / "tutorial.yaml"


@pytest.fixture
def key(tmp_path: Path) -> Path:
    """A key file."""
    path = tmp_path / "approver.p12"
    path.write_bytes(key_file(signer()))
    return path


def issue(capsys: pytest.CaptureFixture[str], key: Path, *more: str) -> tuple[Ended, Path]:
    """Issue and sign; return how it ended and where the certificate should be."""
    target = key.parent / "out.pdf"
    return run(capsys, "issue", TUTORIAL, "-o", target, "--sign", key, *more), target


def test_signed_certificate_verifies(
    key: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Signed by the key in the file, trusted through its authority."""
    monkeypatch.setenv("CERTGEN_PASSPHRASE", PASSPHRASE)
    ended, target = issue(capsys, key)
    assert ended.status == 0, ended.err
    trusted = key.parent / "authority.pem"
    trusted.write_bytes(authority().pem())
    ended = run(capsys, "verify", target, "--trust", trusted)
    assert ended.status == 0, ended.out
    assert "The signature of K. Sample covers all of the file" in ended.out
    assert "given by a trusted authority" in ended.out


@pytest.mark.parametrize("command", [("verify",), ("register", "add", "--register", "kept")])
def test_trust_needs_a_signature(
    command: tuple[str, ...], key: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A certificate that nobody has signed ends in exit 5 and is not recorded."""
    monkeypatch.chdir(key.parent)
    Path("authority.pem").write_bytes(authority().pem())
    assert run(capsys, "issue", TUTORIAL, "-o", "plain.pdf").status == 0
    ended = run(capsys, *command, "plain.pdf", "--trust", "authority.pem")
    assert (ended.status, "There is no signature" in ended.out + ended.err) == (5, True)
    assert not Path("kept").exists()


@pytest.mark.parametrize("command", [("verify",), ("register", "add", "--register", "kept")])
def test_trust_in_no_certificate_is_wrong_usage(
    command: tuple[str, ...], key: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Exit 2 before anything else is told, the file to verify being none either."""
    monkeypatch.chdir(key.parent)
    ended = run(capsys, *command, TUTORIAL, "--trust", TUTORIAL)
    assert (ended.status, ended.out) == (2, "")
    assert ended.err.startswith(f"--trust: {TUTORIAL}: holds no certificate")


def test_passphrase_is_asked_for(
    key: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Hidden, on a terminal."""
    asked: list[str] = []

    def prompt(text: str, **how: object) -> str:
        assert how["hide_input"]
        asked.append(text)
        return PASSPHRASE

    monkeypatch.delenv("CERTGEN_PASSPHRASE", raising=False)
    monkeypatch.setattr(signing.click, "prompt", prompt)
    monkeypatch.setattr(signing.sys.stdin, "isatty", lambda: True, raising=False)
    ended, target = issue(capsys, key)
    assert (ended.status, len(asked)) == (0, 1), ended.err
    assert target.exists()


def test_nobody_to_ask_is_wrong_usage(
    key: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The message names the variable; nothing is written."""
    monkeypatch.delenv("CERTGEN_PASSPHRASE", raising=False)
    monkeypatch.setattr(signing.sys.stdin, "isatty", lambda: False, raising=False)
    ended, target = issue(capsys, key)
    assert ended.status == 2
    assert "CERTGEN_PASSPHRASE" in ended.err
    assert not target.exists()


def test_wrong_passphrase_is_wrong_usage(
    key: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The message names the key file and repeats no passphrase."""
    monkeypatch.setenv("CERTGEN_PASSPHRASE", "another one")
    ended, target = issue(capsys, key)
    assert ended.status == 2
    assert str(key) in ended.err
    assert "another one" not in ended.err
    assert not target.exists()


def test_missing_key_is_wrong_usage(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """There is nothing to sign with."""
    ended, _ = issue(capsys, tmp_path / "no.p12")
    assert ended.status == 2


def test_silent_time_service_leaves_nothing_behind(
    key: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Exit 4: what was asked for cannot be written."""
    monkeypatch.setenv("CERTGEN_PASSPHRASE", PASSPHRASE)
    ended, target = issue(capsys, key, "--timestamp", "http://127.0.0.1:9/")
    assert ended.status == 4
    assert "gave no time stamp" in ended.err
    assert not target.exists()


def test_time_stamp_without_a_signature_is_wrong_usage(capsys: pytest.CaptureFixture[str]) -> None:
    """There would be nothing to stamp."""
    assert run(capsys, "issue", TUTORIAL, "--timestamp", "http://127.0.0.1:9/").status == 2


def test_signing_without_its_library_is_wrong_usage(
    key: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The message says what to install."""
    monkeypatch.setattr(signing, "find_spec", lambda _: None)
    ended, target = issue(capsys, key)
    assert ended.status == 2
    assert "certgen[sign]" in ended.err
    assert not target.exists()


def sign(capsys: pytest.CaptureFixture[str], key: Path, file: Path, *more: str) -> tuple[Ended, Path]:
    """Sign a certificate that was issued before; return how it ended and where the signed one should be."""
    target = key.parent / "signed.pdf"
    return run(capsys, "sign", file, "--key", key, "-o", target, *more), target


def test_certificate_is_signed_after_it_was_issued(
    key: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """In its place and with its face, every byte of it kept; a second time it is refused."""
    monkeypatch.setenv("CERTGEN_PASSPHRASE", PASSPHRASE)
    plain = key.parent / "plain.pdf"
    assert run(capsys, "issue", TUTORIAL, "-o", plain, "--lang", "de").status == 0
    ended, target = sign(capsys, key, plain)
    assert ended.status == 0, ended.err
    assert target.read_bytes().startswith(plain.read_bytes())
    trusted = key.parent / "authority.pem"
    trusted.write_bytes(authority().pem())
    ended = run(capsys, "verify", target, "--trust", trusted)
    assert ended.status == 0, ended.out
    again = run(capsys, "sign", target, "--key", key, "-o", key.parent / "twice.pdf")
    assert (again.status, "signed already" in again.err) == (2, True)
    assert not (key.parent / "twice.pdf").exists()


def test_signed_afterwards_is_what_is_signed_at_once(
    key: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same objects, but for the signature itself."""
    monkeypatch.setenv("CERTGEN_PASSPHRASE", PASSPHRASE)
    plain = key.parent / "plain.pdf"
    assert run(capsys, "issue", TUTORIAL, "-o", plain).status == 0
    _, later = sign(capsys, key, plain)
    _, at_once = issue(capsys, key)
    one, other = (revisions(path.read_bytes()) for path in (later, at_once))
    assert one[0].places == other[0].places
    assert one[1].objects.keys() == other[1].objects.keys()


@pytest.mark.parametrize(
    ("options", "status", "told"),
    [(("--draft",), 2, "a draft is not signed"), ((), 5, "only a certificate that verifies is signed")],
)
def test_what_is_not_as_it_was_issued_is_not_signed(
    options: tuple[str, ...],
    status: int,
    told: str,
    key: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A draft, and a certificate whose record of printing says something else."""
    monkeypatch.setenv("CERTGEN_PASSPHRASE", PASSPHRASE)
    plain = key.parent / "plain.pdf"
    assert run(capsys, "issue", TUTORIAL, "-o", plain, *options).status == 0
    if not options:
        plain.write_bytes(recorded(plain.read_bytes(), paper="A3"))
    ended, target = sign(capsys, key, plain)
    assert (ended.status, told in ended.err) == (status, True), ended.err
    assert not target.exists()


def test_signed_output_replaces_nothing_unasked(
    key: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nor ever the certificate itself."""
    monkeypatch.setenv("CERTGEN_PASSPHRASE", PASSPHRASE)
    plain, target = key.parent / "plain.pdf", key.parent / "signed.pdf"
    assert run(capsys, "issue", TUTORIAL, "-o", plain).status == 0
    target.write_bytes(b"mine")
    assert sign(capsys, key, plain)[0].status == 4
    assert target.read_bytes() == b"mine"
    assert run(capsys, "sign", plain, "--key", key, "-o", plain, "--replace").status == 2


@pytest.mark.slow
def test_signed_certificate_can_be_read_aloud(
    key: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The outside validator finds nothing against ISO 19005-3, level A, and ISO 14289-1 in it either."""
    monkeypatch.setenv("CERTGEN_PASSPHRASE", PASSPHRASE)
    ended, target = issue(capsys, key)
    assert ended.status == 0
    assert broken_rules(target) == {target.name: []}
