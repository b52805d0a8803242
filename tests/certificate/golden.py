"""What the pages of the present form are: the text of every sample's pages, and a digest of what is drawn.

`python -m tests.certificate.golden` writes them anew. Where pages are others than those of a released
certgen, it refuses to until `PRINT_FORM` is raised: what was issued since could no longer be compared.
"""

import json
import re
import sys
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path

from certgen import __version__, resources
from certgen.certificate.archive_print import PRINT_FORM
from certgen.certificate.assemble import certificate_pdf
from certgen.certificate.raw_file import Revision, Stream, revisions
from certgen.certificate.verify_visible import visible
from tests.certificate.samples import WORDING, sample

FOLDER = Path(__file__).parent / "golden"
INDEX = FOLDER / "index.json"
SAMPLES = sorted(path.stem for path in resources.sample_surveys().glob("*.yaml"))
_NUMBER = re.compile(rb"(?<![\w.])-?\d*\.\d+(?![\w.])")


def drawn(name: str) -> tuple[str, str]:
    """Return the text of a sample's pages, a line for each text, and the digest of all that is drawn."""
    assessment = sample(name)
    file = revisions(certificate_pdf(assessment, WORDING, assessment.survey.certificate.paper))[0]
    texts, _ = visible(file)
    lines = "".join(f"{one.page}: {one.letters}\n" for one in texts)
    return lines, sha256(b"".join(_contents(file))).hexdigest()


def _contents(file: Revision) -> Iterator[bytes]:
    """The drawing of every page, numbers to a hundredth of a point: the last digits are a machine's own."""
    for page in file.pages():
        content = file.at(page["Contents"])
        assert isinstance(content, Stream)
        yield _NUMBER.sub(lambda found: b"%.2f" % (float(found[0]) + 0.0), content.data)


def kept() -> dict[str, object]:
    """Return the index of what is kept, empty where nothing is."""
    found: dict[str, object] = json.loads(INDEX.read_text("utf-8")) if INDEX.is_file() else {}
    return found


def write() -> int:
    """Write all of it; return an exit status."""
    pages = {name: drawn(name) for name in SAMPLES}
    digests = {name: digest for name, (_, digest) in pages.items()}
    before = kept()
    released = before.get("form") == PRINT_FORM and before.get("certgen") != __version__
    if released and before.get("drawn") != digests:
        told = f"the pages are others than those of certgen {before.get('certgen')}: raise PRINT_FORM first"
        print(told, file=sys.stderr)  # noqa: T201
        return 1
    FOLDER.mkdir(exist_ok=True)
    for name, (text, _) in pages.items():
        (FOLDER / f"{name}.txt").write_text(text, "utf-8")
    index = {"form": PRINT_FORM, "certgen": before["certgen"] if released else __version__, "drawn": digests}
    INDEX.write_text(json.dumps(index, indent=1) + "\n", "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(write())
