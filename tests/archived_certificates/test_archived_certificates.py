"""Certificates of every form that was ever issued are kept here for ever, and still verify.

`format_<n>.pdf` are as they were issued; none is ever made anew. The results of a certificate of an older
program must be those that are computed now, and its pages must say them at their places. Where their form is
no longer printed, they are not compared beyond that, which is the answer.
"""

import re
from pathlib import Path

import pytest

from certgen.pdf.archive.metadata import FORMAT
from certgen.survey import read_bytes
from certgen.verify.checks import verify
from certgen.verify.compare_contents import answer
from certgen.verify.issued_file import carried
from tests.certificate.test_verify import again

FOLDER = Path(__file__).parent
FILES = sorted(FOLDER.glob("format_*.pdf"))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_archived_certificate_still_verifies(path: Path) -> None:
    """Nothing differs; what is remarked upon is only what another program prints otherwise."""
    checks = verify(carried(path.read_bytes()), again)
    assert [check for check in checks if check.outcome == "differs"] == []
    assert {check.name for check in checks if check.outcome == "remark"} <= {"arithmetic", "print", "trust"}
    assert answer(checks) == "results verified"


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_archived_survey_can_still_be_read(path: Path) -> None:
    """Keys of the survey format are added, never renamed."""
    reading = read_bytes(path.name, carried(path.read_bytes()).survey)
    assert [finding for finding in reading.findings if finding.severity == "error"] == []


def test_every_form_is_kept() -> None:
    """With every new form of the certificate, one of it is put here, unsigned and signed."""
    names = {path.stem for path in FILES}
    newest = int(FORMAT.partition("/")[2])
    for form in range(1, newest + 1):
        assert {f"format_{form}", f"format_{form}_signed"} <= names


def test_archived_certificates_say_their_form() -> None:
    """The name of the file is that of the form inside."""
    for path in FILES:
        form = re.sub(r"\D", "", path.stem)
        assert carried(path.read_bytes()).metadata("certgen:format") == f"certgen-certificate/{form}"
