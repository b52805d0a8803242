"""What the pages of the present form are: the text of every sample's pages, and all that is drawn.

`python -m tests.certificate.golden` writes them anew. Where pages are others than those of a released
certgen, it refuses to until `PRINT_FORM` is raised: what was issued since could no longer be compared.
"""

import json
import lzma
import re
import sys
from collections.abc import Iterator
from pathlib import Path

from certgen import __version__, resources
from certgen.pdf.archive.print_record import PRINT_FORM
from certgen.pdf.pdf_document import certificate_pdf
from certgen.verify.pdf_bytes import Revision, Stream, revisions
from certgen.verify.visible_text import visible
from tests.certificate.samples import WORDING, sample

FOLDER = Path(__file__).parent / "golden"
INDEX = FOLDER / "index.json"
SAMPLES = sorted(path.stem for path in resources.sample_surveys().glob("*.yaml"))
# points: the last digits of a coordinate are a machine's own, and nobody sees so little
UNSEEN = 0.02
_NUMBER = re.compile(rb"(?<![\w.])-?(?:\d+\.?\d*|\.\d+)(?![\w.])")


def drawn(name: str) -> tuple[str, bytes]:
    """Return the text of a sample's pages, a line for each text, and the drawing of all pages."""
    assessment = sample(name)
    file = revisions(certificate_pdf(assessment, WORDING, assessment.survey.certificate.paper))[0]
    texts, _ = visible(file)
    lines = "".join(f"{one.page}: {one.letters}\n" for one in texts)
    return lines, b"\n".join(_contents(file))


def _contents(file: Revision) -> Iterator[bytes]:
    for page in file.pages():
        content = file.at(page["Contents"])
        assert isinstance(content, Stream)
        yield content.data


def kept_drawing(name: str) -> bytes:
    """Return the drawing of all pages of a sample as it is kept."""
    return lzma.decompress((FOLDER / f"{name}.drawn.xz").read_bytes())


def first_difference(one: bytes, other: bytes) -> str | None:
    """Return where two drawings differ by more than can be seen, None where they do not."""
    if _NUMBER.sub(b"#", one) != _NUMBER.sub(b"#", other):
        pairs = zip(one.splitlines(), other.splitlines(), strict=False)
        found = (f"{a!r} against {b!r}" for a, b in pairs if _NUMBER.sub(b"#", a) != _NUMBER.sub(b"#", b))
        return next(found, "one of them goes on where the other ends")
    for a, b in zip(_NUMBER.findall(one), _NUMBER.findall(other), strict=True):
        if abs(float(a) - float(b)) > UNSEEN:
            return f"{a!r} against {b!r}"
    return None


def kept() -> dict[str, object]:
    """Return the index of what is kept, empty where nothing is."""
    found: dict[str, object] = json.loads(INDEX.read_text("utf-8")) if INDEX.is_file() else {}
    return found


def write() -> int:
    """Write all of it; return an exit status."""
    pages = {name: drawn(name) for name in SAMPLES}
    before = kept()
    released = before.get("form") == PRINT_FORM and before.get("certgen") != __version__
    if released and any(first_difference(kept_drawing(name), found) for name, (_, found) in pages.items()):
        told = f"the pages are others than those of certgen {before.get('certgen')}: raise PRINT_FORM first"
        print(told, file=sys.stderr)  # noqa: T201
        return 1
    FOLDER.mkdir(exist_ok=True)
    for name, (text, found) in pages.items():
        (FOLDER / f"{name}.txt").write_text(text, "utf-8")
        (FOLDER / f"{name}.drawn.xz").write_bytes(lzma.compress(found, preset=9))
    index = {"form": PRINT_FORM, "certgen": before["certgen"] if released else __version__}
    INDEX.write_text(json.dumps(index, indent=1) + "\n", "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(write())
