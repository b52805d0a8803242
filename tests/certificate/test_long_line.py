"""A certificate of sixty rolls: no text is clipped and none overlaps, by the boxes of its words."""

import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from certgen.assessment.assess import assess
from certgen.network.solution import solve_survey
from certgen.pdf.pdf_document import certificate_pdf
from certgen.survey.survey import Limit, Paper, PrintedUnits, Roll, RollReading, Setup, Survey
from tests.benchmarks.long_line import long_line
from tests.certificate.samples import WORDING

ROLLS = 60
NAMES = ("Idler", "Turning roll before the second unwind accumulator, drive side guarded", "Pull roll")
HEIGHTS_MM = (900.0, 1500.0, 2100.0, 950.0)
Box = tuple[float, float, float, float, str]


def sixty(units: PrintedUnits) -> Survey:
    """Return sixty rolls with names long and short, one of them extremely skewed, two thirds adjusted."""
    chance = np.random.default_rng(4)
    line = long_line(ROLLS)
    rolls = tuple(_roll(index, roll) for index, roll in enumerate(line.rolls))
    setups = tuple(_setup(chance, setup) for setup in line.setups)
    return replace(line, rolls=rolls, setups=setups, certificate=replace(line.certificate, units=units))


def _roll(index: int, roll: Roll) -> Roll:
    kinds = ("none",) if index == 0 else ("drive", "operator", "both")
    return replace(
        roll,
        name=NAMES[index % len(NAMES)],
        station_mm=0.6 * roll.station_mm,
        height_mm=HEIGHTS_MM[index % len(HEIGHTS_MM)],
        adjustable=kinds[index % len(kinds)],
        adjacent_limit=Limit(0.06, "0.06 mm/m"),
    )


def _setup(chance: np.random.Generator, setup: Setup) -> Setup:
    return replace(setup, readings=tuple(again for one in setup.readings for again in _read(chance, one)))


def _read(chance: np.random.Generator, one: RollReading) -> Iterator[RollReading]:
    """As found with a slope, and mostly again as left; R17 as found lies 9 mm downstream at its drive end."""
    if one.roll == "R1":
        yield one
        return
    off = 9.0 if one.roll == "R17" else float(chance.normal(0.0, 0.1))
    yield replace(one, drive_mm=one.drive_mm + off)
    if chance.random() < 0.7:
        yield replace(one, round="as_left")


def words_of(pdf: Path) -> list[tuple[float, float, list[Box]]]:
    """Return width, height and the boxes of the words of every page, in points from the top left corner."""
    run = subprocess.run(["pdftotext", "-bbox", pdf, "-"], capture_output=True, text=True, check=True)
    pages = re.findall(r'<page width="([\d.]+)" height="([\d.]+)">(.*?)</page>', run.stdout, re.DOTALL)
    return [(float(width), float(height), list(_boxes(body))) for width, height, body in pages]


def _boxes(body: str) -> Iterator[Box]:
    pattern = r'<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*?)</word>'
    for left, top, right, bottom, word in re.findall(pattern, body):
        yield float(left), float(top), float(right), float(bottom), word


def overlaps(boxes: list[Box]) -> list[tuple[str, str]]:
    """Return the pairs of words whose inner boxes share more than a hair.

    A box spans the font's ascent and descent, which lines set close may share: its inner half is the ink.
    """
    inner = sorted(
        (x0, y0 + (y1 - y0) * 0.3, x1, y1 - (y1 - y0) * 0.25, word) for x0, y0, x1, y1, word in boxes
    )
    found = []
    for index, one in enumerate(inner):
        for other in inner[index + 1 :]:
            if other[0] > one[2] - 0.3:
                break
            if other[1] < one[3] - 0.3 and one[1] < other[3] - 0.3:
                found.append((one[4], other[4]))
    return found


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext (poppler-utils) is not installed")
@pytest.mark.parametrize(("units", "paper"), [("mm", "A4"), ("both", "letter"), ("in", "A5")])
def test_sixty_rolls_have_no_clipped_or_overlapping_text(
    units: PrintedUnits, paper: Paper, tmp_path: Path
) -> None:
    """Every word lies inside its page and clear of every other."""
    pdf = tmp_path / "sixty.pdf"
    pdf.write_bytes(certificate_pdf(assess(solve_survey(sixty(units))), WORDING, paper))
    pages = words_of(pdf)
    assert sum(len(boxes) for _, _, boxes in pages) > 4000
    for number, (width, height, boxes) in enumerate(pages, 1):
        outside = [
            b for b in boxes if b[0] < 20.0 or b[2] > width - 20.0 or b[1] < 15.0 or b[3] > height - 15.0
        ]
        assert (number, outside) == (number, [])
        assert (number, overlaps(boxes)) == (number, [])


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="pdftotext (poppler-utils) is not installed")
def test_overlap_is_seen() -> None:
    """The check itself: two words in one place, and two side by side."""
    assert overlaps([(0, 0, 20, 10, "a"), (10, 2, 30, 12, "b")]) == [("a", "b")]
    assert overlaps([(0, 0, 20, 10, "a"), (22, 0, 30, 10, "b")]) == []
