"""The pictures in `docs/`: `python -m tests.pictures` draws them anew from the sample surveys.

It needs poppler (`pdftoppm`). They are committed, and compared by nobody: look at them. The gallery is made
with them, so that it names every page there is.
"""

import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

from PIL import Image

import certgen
from certgen import resources

DOCS = Path(__file__).parent.parent / "docs"
FOLDER = DOCS / "images"
# the picture of the README -> sample, page
FIRST = ("certificate_page_1", "winder_inch", 1)
# sample -> what it shows
GALLERY = {
    "winder_inch": "Twelve rolls in inches, three setups of the laser over two monuments, all put right.",
    "dryer_mixed": "Nine rolls in both unit systems; one is left outside, short of travel.",
}
_DOTS_PER_INCH, _SMALL = 90, 60
_COLOURS, _FEW = 24, 8


def pages(sample: str, dots: int) -> Iterator[Image.Image]:
    """Yield every page of the certificate of a sample as a picture."""
    with tempfile.TemporaryDirectory() as folder:
        pdf = Path(folder) / "certificate.pdf"
        pdf.write_bytes(certgen.solve(resources.sample_surveys() / f"{sample}.yaml").pdf())
        subprocess.run(["pdftoppm", "-r", f"{dots}", "-png", pdf, Path(folder) / "page"], check=True)
        for path in sorted(Path(folder).glob("page-*.png")):
            yield Image.open(path).convert("RGB")


def gallery() -> str:
    """Draw every page of two samples, and return the page of `docs/` that shows them."""
    parts = [
        "# What a certificate looks like\n",
        "Every page of two certificates, as `certgen issue` prints them from the sample surveys."
        " What stands where: [certificate.md](certificate.md).\n",
    ]
    for sample, said in GALLERY.items():
        parts.append(f"## {sample}\n\n{said} The survey: [{sample}.yaml](../sample_surveys/{sample}.yaml).\n")
        for number, image in enumerate(pages(sample, _SMALL), 1):
            name = f"{sample}_{number:02}.png"
            image.quantize(_FEW).save(FOLDER / name, optimize=True)
            parts.append(f"![Page {number} of the certificate of {sample}](images/{name})")
        parts.append("")
    return "\n".join(parts)


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for old in FOLDER.glob("*.png"):
        old.unlink()
    name, sample, page = FIRST
    first = list(pages(sample, _DOTS_PER_INCH))[page - 1]
    first.quantize(_COLOURS).save(FOLDER / f"{name}.png", optimize=True)
    (DOCS / "gallery.md").write_text(gallery(), "utf-8")
