"""A certificate that was issued on one processor verifies on another, whose last digits are others."""

import os
import subprocess
import sys
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import NameObject, StreamObject

from certgen import resources
from certgen.verify.allowed_objects import differences
from certgen.verify.compare_contents import draws_the_same
from certgen.verify.issued_file import carried
from tests.certificate.forge import forged, objects, with_stream
from tests.certificate.test_verify import SAMPLES, of_kind, pdf

ROOT = Path(__file__).parent.parent.parent
DIGEST = "from certgen.pdf.archive.print_record import arithmetic_digest; print(arithmetic_digest())"
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


def _survey_of(count: int) -> str:
    """A survey of so many rolls, read in setups of twenty with three rolls in common."""
    text = (resources.sample_surveys() / "tutorial.yaml").read_text("utf-8")
    chance = np.random.default_rng(3)
    lines = [text[: text.index("\nrolls:")], "rolls:"]
    kinds = ["none", *["drive"] * (count - 1)]
    lines += [
        f"  - {{id: R{n}, name: Roll {n}, station: {1000 * n}, height: 900, diameter: 150, face: 1600, "
        f"bearings: 1800, adjustable: {kind}}}"
        for n, kind in enumerate(kinds, 1)
    ]
    lines += ["level:", "  instrument: level", "  as_found:"]
    for n in range(1, count + 1):
        one, other = 0.03 * chance.normal() + 0.004 * chance.normal(size=2)
        lines += [f"    R{n}: {{reading: {one:.3f} mm/m, reversed: {other:.3f} mm/m}}"]
    skews = 0.03 * chance.normal(size=count)
    lines += ["setups:"]
    for start in range(0, count, 20):
        lines += [f"  - id: S{start}", "    as_found:"]
        for place in range(max(0, start - 3), min(count, start + 20)):
            drive = 1.4 * skews[place] + 0.005 * chance.normal()
            lines += [f"      R{place + 1}: {{operator: 0, drive: {drive:.2f}}}"]
    return "\n".join([*lines, ""])


ISSUE = """
import sys, numpy, certgen
solved = certgen.solve(sys.argv[1])
open(sys.argv[2], "wb").write(solved.pdf())
"""


@pytest.mark.slow
def test_thousand_rolls_verify_however_many_threads_share_the_algebra(tmp_path: Path) -> None:
    """Issued through the door for programs in one thread and in two: results alike, and each verifies."""
    file = tmp_path / "long.yaml"
    file.write_text(_survey_of(1000), "utf-8")
    found = {}
    for threads in ("1", "2"):
        target = tmp_path / f"{threads}.pdf"
        there = {**os.environ, "OPENBLAS_NUM_THREADS": threads, "OMP_NUM_THREADS": threads}
        subprocess.run([sys.executable, "-c", ISSUE, file, target], cwd=ROOT, env=there, check=True)
        found[threads] = carried(target.read_bytes()).found()
    one, two = (dict(_numbers(found[threads], "")) for threads in ("1", "2"))
    assert one.keys() == two.keys()
    assert max(abs(one[key] - two[key]) / max(1.0, abs(one[key])) for key in one) < 1e-9
    verified = subprocess.run(
        [sys.executable, "-m", "certgen", "verify", tmp_path / "2.pdf"], cwd=ROOT, check=False
    )
    assert verified.returncode == 0


def _numbers(found: object, at: str) -> Iterator[tuple[str, float]]:
    if isinstance(found, dict | list):
        pairs = found.items() if isinstance(found, dict) else enumerate(found)
        for key, value in pairs:
            yield from _numbers(value, f"{at}/{key}")
    elif isinstance(found, float):
        yield at, found
