"""A certificate that was issued on one processor verifies on another, whose last digits are others."""

import os
import subprocess
import sys
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import NameObject, StreamObject

from certgen.certificate.carried import carried
from certgen.certificate.verify_drawings import draws_the_same
from certgen.certificate.verify_objects import differences
from tests.certificate.forge import forged, objects, with_stream
from tests.certificate.test_verify import SAMPLES, of_kind, pdf

ROOT = Path(__file__).parent.parent.parent
DIGEST = "from certgen.engine.arithmetic import arithmetic_digest; print(arithmetic_digest())"
# kernels of OpenBLAS that any x86-64 processor runs, none of which this process uses where it has a newer one
KERNELS = ("Prescott", "Nehalem")


def on(kernel: str, *arguments: object) -> str:
    """Return what Python prints with the linear algebra of another processor."""
    there = {**os.environ, "OPENBLAS_CORETYPE": kernel, "OPENBLAS_NUM_THREADS": "1"}
    command = [sys.executable, *map(str, arguments)]
    return subprocess.run(command, cwd=ROOT, env=there, capture_output=True, text=True, check=False).stdout


@pytest.fixture(scope="module")
def kernel() -> str:
    """One that rounds otherwise than this process."""
    here = carried(pdf()).found()
    assert here is not None
    found = [one for one in KERNELS if on(one, "-c", DIGEST).strip() != here["printed"]["arithmetic_sha256"]]
    if not found:
        pytest.skip("the linear algebra of this machine rounds in one way only")
    return found[0]


def test_certificates_verify_on_another_processor(kernel: str, tmp_path: Path) -> None:
    """Every sample: results within their tolerance, every word, every drawing."""
    for name in SAMPLES:
        (tmp_path / f"{name}.pdf").write_bytes(pdf(name))
    said = on(kernel, "-m", "certgen", "batch", "--verify", tmp_path)
    assert said.endswith(f"{len(SAMPLES)} verified.\n"), said


def test_other_digits_are_found_on_another_processor(kernel: str, tmp_path: Path) -> None:
    """A change that no rounding makes, in results whose digests were made to fit."""
    number, content = of_kind(b'"certgen-results/1"')
    at = content.index(b"slope_mm_per_m") + content[content.index(b"slope_mm_per_m") :].index(b".") + 4
    other = b"1" if content[at : at + 1] != b"1" else b"2"
    changed = with_stream(objects(pdf())[number], content[:at] + other + content[at + 1 :])
    file = tmp_path / "changed.pdf"
    file.write_bytes(forged(pdf(), {number: changed}))
    said = on(kernel, "-m", "certgen", "verify", file)
    assert "note     It was computed on a machine that rounds the last digits otherwise" in said
    assert "DIFFERS  Results, computed again, are not those inside." in said
    assert said.endswith("does NOT hold\n")


def page_with(content: bytes) -> PdfReader:
    """Return a file of one page that draws so."""
    writer, stream, buffer = PdfWriter(), StreamObject(), BytesIO()
    stream.set_data(content)
    writer.add_blank_page(100, 100)[NameObject("/Contents")] = writer._add_object(stream)
    writer.write(buffer)
    return PdfReader(buffer)


@pytest.mark.parametrize(
    ("drawn", "same"),
    [
        (b"q 1.0001 2 m 3 4 l S (0.050) Tj Q", True),
        (b"q 1.1 2 m 3 4 l S (0.050) Tj Q", False),
        (b"q 1 2 m 3 4 l S (0.051) Tj Q", False),
        (b"q 1 2 m 3 4 l f (0.050) Tj Q", False),
        (b"q 1 2 m 3 4 l S (0.050) Tj", False),
    ],
)
def test_drawings_may_differ_by_what_nobody_sees(drawn: bytes, same: bool) -> None:
    """Coordinates in their last digit; no letter, no operator, none left out."""
    files = [page_with(content) for content in (b"q 1 2 m 3 4 l S (0.050) Tj Q", drawn)]
    found = differences(*files, alike=draws_the_same)
    assert (found == ()) == same
