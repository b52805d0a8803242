"""`certgen verify` and `certgen extract`: what they say, and what they end with."""

import json
import os
from pathlib import Path

import pytest
from pypdf import PdfWriter

from certgen import resources
from tests.certificate.test_forgeries import FORGERIES
from tests.cli.run import run

ARCHIVED = Path(__file__).parent.parent / "archived_certificates"
TUTORIAL = resources.sample_surveys() / "tutorial.yaml"


@pytest.fixture
def issued(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Path:
    """A certificate, just issued."""
    target = tmp_path / "tutorial.pdf"
    assert run(capsys, "issue", TUTORIAL, "-o", target).status == 0
    return target


def test_verify_says_what_held(issued: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A line for every check, the verdict last, exit 0."""
    ended = run(capsys, "verify", issued)
    assert ended.status == 0
    assert all(line.startswith("holds ") for line in ended.out.splitlines()[:-1])
    assert ended.out.splitlines()[-1] == f"{issued}: verified"
    assert ended.err == ""


def test_verify_says_what_differs(issued: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 5, and the check that failed."""
    issued.write_bytes(FORGERIES["page_cropped"](issued.read_bytes()))
    ended = run(capsys, "verify", issued)
    assert ended.status == 5
    assert "DIFFERS  The certificate holds what certgen never writes" in ended.out
    assert "/CropBox" in ended.out
    assert ended.out.splitlines()[-1] == f"{issued}: does NOT hold"


def test_verify_as_json_has_the_same_checks(issued: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Names, outcomes, texts and details."""
    found = json.loads(run(capsys, "verify", "--json", issued).out)
    assert found["verified"] is True
    assert {"digest", "survey", "results", "pages", "file", "appended"} <= {
        one["name"] for one in found["checks"]
    }
    assert {one["outcome"] for one in found["checks"]} == {"held"}


def test_verify_of_something_else_is_exit_5(capsys: pytest.CaptureFixture[str]) -> None:
    """The message names the file and says what it is not."""
    ended = run(capsys, "verify", TUTORIAL)
    assert (ended.status, ended.out) == (5, "")
    assert f"{TUTORIAL}: this is not a PDF file" in ended.err


def test_verify_of_a_missing_file_is_wrong_usage(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit 2."""
    assert run(capsys, "verify", tmp_path / "no.pdf").status == 2


def test_extract_gives_survey_and_results_back(
    issued: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The exact bytes; nothing is replaced unasked."""
    assert run(capsys, "extract", issued, "-o", tmp_path).status == 0
    assert (tmp_path / "survey.yaml").read_bytes() == TUTORIAL.read_bytes()
    assert json.loads((tmp_path / "results.json").read_bytes())["printed"]["language"] == "en"
    (tmp_path / "survey.yaml").unlink()
    assert run(capsys, "extract", issued, "-o", tmp_path).status == 4
    assert not (tmp_path / "survey.yaml").exists()
    assert run(capsys, "extract", issued, "-o", tmp_path, "--replace").status == 0


def test_extract_makes_its_folder(issued: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Within one that is there; else exit 4, and the message names the folder."""
    assert run(capsys, "extract", issued, "-o", tmp_path / "inside").status == 0
    assert {path.name for path in (tmp_path / "inside").iterdir()} == {"survey.yaml", "results.json"}
    ended = run(capsys, "extract", issued, "-o", tmp_path / "missing" / "inside")
    assert (ended.status, "missing" in ended.err) == (4, True)
    assert not (tmp_path / "missing").exists()


def test_extract_of_something_else_is_exit_5(capsys: pytest.CaptureFixture[str]) -> None:
    """There is nothing in it."""
    assert run(capsys, "extract", TUTORIAL).status == 5


def test_extract_writes_all_files_or_none(
    issued: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where one cannot be written, the others are taken away again: here a link that leads nowhere."""
    (tmp_path / "results.json").symlink_to(tmp_path / "nowhere" / "results.json")
    ended = run(capsys, "extract", issued, "-o", tmp_path, "--replace")
    assert (ended.status, ended.out) == (4, "")
    assert not (tmp_path / "survey.yaml").exists()


@pytest.mark.parametrize("command", ["verify", "extract", "compare"])
def test_pdf_of_another_program_is_named_as_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: str
) -> None:
    """With its file, and without words of the library that reads it."""
    writer = PdfWriter()
    writer.add_blank_page(100, 100)
    writer.write(tmp_path / "other.pdf")
    ended = run(capsys, command, tmp_path / "other.pdf")
    assert ended.status == 5
    assert ended.err.startswith(f"{tmp_path / 'other.pdf'}: this PDF was not written by certgen")


@pytest.mark.parametrize("user", ["secret", ""])
def test_encrypted_pdf_is_named_as_one(
    user: str, issued: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whoever is asked for a password, or nobody: exit 5, and what to do."""
    writer = PdfWriter(clone_from=issued)
    writer.encrypt(user, "owner", algorithm="RC4-128")
    writer.write(tmp_path / "locked.pdf")
    ended = run(capsys, "verify", tmp_path / "locked.pdf")
    assert ended.status == 5
    assert ended.err.startswith(f"{tmp_path / 'locked.pdf'}: this PDF is encrypted")
    assert "save it without any password" in ended.err


def test_extracted_survey_gives_the_same_certificate(
    issued: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Byte for byte, so a certificate can always be issued again."""
    assert run(capsys, "extract", issued, "-o", tmp_path).status == 0
    assert run(capsys, "issue", tmp_path / "survey.yaml", "-o", tmp_path / "again.pdf").status == 0
    assert (tmp_path / "again.pdf").read_bytes() == issued.read_bytes()


def test_verify_prints_with_the_templates_that_issued(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With the contractor's own folder everything holds; without it, the pages cannot be compared."""
    house, target = tmp_path / "house", tmp_path / "out.pdf"
    (house / "de").mkdir(parents=True)
    (house / "house.toml").write_text(
        'letterhead = ["Tarnbrook Alignment", "Tel. 0123 456"]\nlanguage = "de"\n'
    )
    (house / "de" / "words.yaml").write_text("title: Zeugnis\n")
    assert run(capsys, "issue", TUTORIAL, "-o", target, "--templates", house).status == 0
    ended = run(capsys, "verify", target, "--templates", house)
    assert ended.status == 0
    assert all(line.startswith("holds ") for line in ended.out.splitlines()[:-1]), ended.out
    ended = run(capsys, "verify", target)
    assert ended.status == 6, ended.out
    assert ended.out.splitlines()[-1] == f"{target}: results verified, pages not compared"
    assert "--templates names the folder" in ended.out


def test_house_beside_a_certificate_is_never_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Whoever hands over a certificate could lay one beside it; only --templates counts."""
    house, target = tmp_path / "house", tmp_path / "out.pdf"
    (house / "en").mkdir(parents=True)
    (house / "en" / "words.yaml").write_text("title: Proof\n")
    assert run(capsys, "issue", TUTORIAL, "-o", target, "--templates", house).status == 0
    (tmp_path / "certgen.toml").write_text('[house]\ntemplates = "house"\n')
    assert run(capsys, "verify", target).status == 6
    assert run(capsys, "verify", "--templates", house, target).status == 0
    refused = run(capsys, "register", "add", target, "--register", tmp_path / "kept")
    assert (refused.status, (tmp_path / "kept").exists()) == (6, False)


def test_batch_accepts_unprinted_pages_only_where_asked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A certificate of the first form, whose pages this program does not print."""
    folder = tmp_path / "certificates"
    folder.mkdir()
    (folder / "old.pdf").write_bytes((ARCHIVED / "format_1.pdf").read_bytes())
    refused = run(capsys, "batch", "--verify", folder, "--jobs", 1)
    assert (refused.status, refused.out.endswith("1 failed.\n")) == (6, True), refused
    accepted = run(
        capsys, "batch", "--verify", "--accept-unprinted", folder, "-o", tmp_path / "said", "--jobs", 1
    )
    assert (accepted.status, accepted.out.endswith("1 accepted.\n")) == (0, True), accepted
    report = json.loads((tmp_path / "said" / "old.pdf.json").read_bytes())
    assert (report["verified"], report["accepted_unprinted"]) == (False, True)
    assert report["said"]["outcome"] == "results verified"


@pytest.mark.parametrize("option", [["--with-checklist"], ["--lang", "fr"], ["--paper", "letter"]])
def test_verify_prints_as_it_was_issued(
    option: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every option that changes the pages is recorded."""
    target = tmp_path / "out.pdf"
    assert run(capsys, "issue", TUTORIAL, "-o", target, *option).status == 0
    ended = run(capsys, "verify", target)
    assert ended.status == 0
    assert all(line.startswith("holds ") for line in ended.out.splitlines()[:-1]), ended.out


def test_no_file_name_steers_the_terminal(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Control characters, a line of its own and letters turned round stand as their numbers."""
    file = tmp_path / "a\x1b[2J\u202e\nx.pdf: verified"
    file.write_bytes(b"no PDF")
    ended = run(capsys, "verify", file)
    assert ended.status == 5
    assert r"a\x1b[2J\u202e\nx.pdf: verified: this is not a PDF" in ended.err
    assert len(ended.err.splitlines()) == 1
    assert not set("\x1b\u202e") & set(ended.out + ended.err)


def test_extract_names_what_else_is_embedded(
    issued: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """And writes only what certgen attaches."""
    issued.write_bytes(FORGERIES["one_more_attachment"](issued.read_bytes()))
    ended = run(capsys, "extract", issued, "-o", tmp_path / "inside")
    assert ended.status == 0
    assert ended.err == "Not written: verdict.txt, 15 bytes, which certgen attaches to no such file.\n"
    assert sorted(one.name for one in (tmp_path / "inside").iterdir()) == ["results.json", "survey.yaml"]


@pytest.mark.parametrize("command", ["check", "verify", "extract"])
def test_what_is_no_ordinary_file_is_refused(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A pipe into which nobody writes would never end."""
    os.mkfifo(tmp_path / "pipe")
    for file in (tmp_path / "pipe", "/dev/zero"):
        ended = run(capsys, command, file)
        assert (ended.status, "no ordinary file" in ended.err) == (2, True), ended
