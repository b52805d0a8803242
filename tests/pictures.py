"""The pictures in `docs/`: `python -m tests.pictures` draws them anew from the sample surveys.

It needs poppler (`pdftoppm`). They are committed, and compared by nobody: look at them.
"""

import subprocess
import tempfile
from pathlib import Path

from PIL import Image

import certgen
from certgen import resources

FOLDER = Path(__file__).parent.parent / "docs" / "images"
# picture -> sample, page
PICTURES = {"certificate_page_2": ("winder_inch", 2)}
_DOTS_PER_INCH = 90
_COLOURS = 24


def picture(sample: str, page: int, target: Path) -> None:
    """Draw a page of the certificate of a sample into a PNG of few colours."""
    with tempfile.TemporaryDirectory() as folder:
        pdf = Path(folder) / "certificate.pdf"
        pdf.write_bytes(certgen.solve(resources.sample_surveys() / f"{sample}.yaml").pdf())
        which = ["-f", f"{page}", "-l", f"{page}", "-singlefile"]
        drawn = Path(folder) / "page"
        subprocess.run(["pdftoppm", "-r", f"{_DOTS_PER_INCH}", "-png", *which, pdf, drawn], check=True)
        image = Image.open(drawn.with_suffix(".png")).convert("RGB").quantize(_COLOURS)
        image.save(target, optimize=True)


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name, (sample, page) in PICTURES.items():
        picture(sample, page, FOLDER / f"{name}.png")
