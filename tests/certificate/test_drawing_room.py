"""Every text of every drawing lies inside it, in every language, on small paper and with long names."""

from collections.abc import Iterator

import pytest
from reportlab.graphics.shapes import Drawing, Group, String, mmult, transformPoint

from certgen import resources
from certgen.assessment.assessment import ASPECTS, Assessment
from certgen.figures.line_diagram import line_diagram
from certgen.figures.look import STRONG, load_fonts, width_of
from certgen.figures.plots import comparison_plot, found_left_plot
from certgen.figures.shapes import ELLIPSIS, shortened
from certgen.figures.study_plot import study_plot
from certgen.figures.trend_plot import trend_plots
from certgen.pdf.pdf_document import type_area
from certgen.reference_study.study import study
from certgen.resources import LANGUAGES
from certgen.survey.survey import Paper
from certgen.visits.comparison import compare, within
from certgen.visits.trend import trend
from certgen.wording.wording import Wording
from tests.certificate.long_names import LONGEST, long_named
from tests.certificate.samples import sample

NAMES = ("tutorial", "winder_inch", "coater_mm", "dryer_mixed", "unwind_wide")
VISITS = ("winder_inch", "winder_inch_next_year", "winder_inch_third_year")
PAPERS: tuple[Paper, ...] = ("A5", "A4", "letter")
UPRIGHT = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
Found = tuple[str, tuple[float, ...], float]  # a text, its box, its size


def drawings(found: Assessment, wording: Wording, width: float) -> Iterator[Drawing]:
    """Yield every drawing that is made of one survey."""
    yield from (picture.drawing for picture in line_diagram(found, wording, width))
    yield from found_left_plot(found, wording, width)
    yield study_plot(study(found.solution, "as_found"), wording, width)
    yield from comparison_plot(within(found.solution), wording, width)


def drawings_of(visits: list[Assessment], wording: Wording, width: float) -> Iterator[Drawing]:
    """Yield every drawing that is made of several surveys of one line."""
    solutions = [visit.solution for visit in visits]
    yield from comparison_plot(compare(*solutions[:2]), wording, width)
    for aspect in ASPECTS:
        yield from trend_plots(trend(solutions), aspect, wording, width)


def texts(shape: object, within: tuple[float, ...] = UPRIGHT) -> Iterator[Found]:
    """Yield the texts of a drawing, with the box (left, bottom, right, top) and the size of each."""
    if isinstance(shape, String):
        yield shape.text, _box(shape, within), shape.fontSize
    elif isinstance(shape, Drawing | Group):
        inner = mmult(within, shape.transform) if isinstance(shape, Group) else within
        for part in shape.contents:
            yield from texts(part, inner)


def _box(text: String, within: tuple[float, ...]) -> tuple[float, ...]:
    width = width_of(text.text, text.fontName, text.fontSize)
    left = {"start": text.x, "middle": text.x - width / 2, "end": text.x - width}[text.textAnchor]
    heights = (text.y - 0.2 * text.fontSize, text.y + 0.72 * text.fontSize)
    corners = [transformPoint(within, (x, y)) for x in (left, left + width) for y in heights]
    across, up = zip(*corners, strict=True)
    return min(across), min(up), max(across), max(up)


def outside(drawing: Drawing) -> list[str]:
    """Return the texts that reach over an edge of their drawing."""
    edges = (-0.5, -0.5, drawing.width + 0.5, drawing.height + 0.5)
    return [
        text
        for text, box, _ in texts(drawing)
        if box[0] < edges[0] or box[1] < edges[1] or box[2] > edges[2] or box[3] > edges[3]
    ]


def overlapping(drawing: Drawing) -> list[tuple[str, str]]:
    """Return the pairs of texts that share more than a hair of their room."""
    found = [(text, box) for text, box, _ in texts(drawing) if text.strip()]
    return [
        (text, second)
        for place, (text, box) in enumerate(found)
        for second, other in found[place + 1 :]
        if all(box[i] + 0.3 < other[i + 2] and other[i] + 0.3 < box[i + 2] for i in (0, 1))
    ]


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("language", LANGUAGES)
def test_texts_lie_inside_their_drawing_in_every_language(language: str, paper: Paper) -> None:
    """Legends, names of axes and rows, on the papers that are offered."""
    load_fonts()
    wording, width = Wording(resources.templates(), language), type_area(paper)[0]
    made = [one for name in NAMES for one in drawings(sample(name), wording, width)]
    made += drawings_of([sample(name) for name in VISITS], wording, width)
    assert [text for one in made for text in outside(one)] == []
    assert [pair for one in made for pair in overlapping(one)] == []


@pytest.mark.parametrize("paper", PAPERS)
def test_long_names_lie_inside_their_drawing_and_can_be_read(paper: Paper) -> None:
    """Forty letters are cut in their middle, and nothing is set smaller than can be read."""
    load_fonts()
    wording, width = Wording(resources.templates(), "de"), type_area(paper)[0]
    made = [one for name in NAMES for one in drawings(long_named(name), wording, width)]
    made += drawings_of([long_named(name) for name in VISITS], wording, width)
    assert [text for one in made for text in outside(one)] == []
    assert [pair for one in made for pair in overlapping(one)] == []
    found = [(text, size) for one in made for text, _, size in texts(one)]
    assert min(size for _, size in found) > 4.5
    assert any(ELLIPSIS in text and text.endswith("R12") for text, _ in found)


def test_shortened_name_keeps_both_ends_and_its_room() -> None:
    """Rolls that differ in their number at the end stay apart."""
    load_fonts()
    name = "Winding section idler with load cell 17".ljust(LONGEST, "b")
    found = shortened(name, 60.0, STRONG, 7.0)
    first, last = found.split(ELLIPSIS)
    assert name.startswith(first)
    assert name.endswith(last)
    assert 45.0 < width_of(found, STRONG, 7.0) <= 60.0
    assert shortened("R17", 60.0, STRONG, 7.0) == "R17"
    assert shortened(name, 1.0, STRONG, 7.0) == ELLIPSIS
