"""The drawings: the web's path, labels that keep apart, columns, scales."""

from math import hypot
from pathlib import Path

import matplotlib
import pytest
from reportlab.graphics import renderSVG
from reportlab.graphics.shapes import Drawing, Group, String

from certgen.figures.bar_views import bar_views
from certgen.figures.line_diagram import line_diagram
from certgen.figures.look import load_fonts, width_of
from certgen.figures.plots import found_left_plot
from certgen.figures.shapes import nice_denominator, nice_magnification
from certgen.figures.side_view import Circle, side_views, web_path
from tests.certificate.samples import WORDING, changed, sample

NAMES = ("tutorial", "winder_inch", "coater_mm", "dryer_mixed", "unwind_wide")
WIDTH = 493.0


def texts(drawing: Drawing) -> list[String]:
    """Return the upright texts of a drawing."""
    return [shape for shape in drawing.contents if isinstance(shape, String)]


def box(text: String) -> tuple[float, float, float, float]:
    """Return the box of a text."""
    width = width_of(text.text, text.fontName, text.fontSize)
    left = {"start": text.x, "middle": text.x - width / 2, "end": text.x - width}[text.textAnchor]
    return left, text.y - 0.2 * text.fontSize, left + width, text.y + 0.72 * text.fontSize


def overlap(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    """Return whether two boxes overlap by more than a hair."""
    return a[0] + 0.1 < b[2] and b[0] + 0.1 < a[2] and a[1] + 0.1 < b[3] and b[1] + 0.1 < a[3]


@pytest.mark.parametrize("name", NAMES)
def test_texts_of_a_drawing_keep_apart_and_inside(name: str) -> None:
    """No two texts overlap and none is clipped."""
    for picture in line_diagram(sample(name), WORDING, WIDTH):
        boxes = [box(text) for text in texts(picture.drawing)]
        for index, one in enumerate(boxes):
            assert one[0] >= -0.5
            assert one[2] <= picture.drawing.width + 0.5
            assert one[1] >= -0.5
            assert one[3] <= picture.drawing.height + 0.5
            assert not any(overlap(one, other) for other in boxes[index + 1 :])


@pytest.mark.parametrize("name", NAMES)
def test_side_view_is_true_to_its_scale(name: str) -> None:
    """Distances between monuments or rolls on paper times the denominator are those on the line."""
    load_fonts()
    survey = sample(name).survey
    (view,) = side_views(survey, WORDING, WIDTH)
    circles = [shape for shape in view.drawing.contents if type(shape).__name__ == "Circle"]
    assert len(circles) == len(survey.rolls)
    for first, second, a, b in zip(circles, circles[1:], survey.rolls, survey.rolls[1:], strict=False):
        paper = hypot(second.cx - first.cx, second.cy - first.cy) * 25.4 / 72.0 * view.scale
        assert paper == pytest.approx(hypot(b.station_mm - a.station_mm, b.height_mm - a.height_mm), rel=1e-9)


def test_web_path_touches_every_roll_and_enters_none() -> None:
    """The chain of points never comes nearer to a roll's centre than its radius."""
    rolls = [Circle(0, 0, 5), Circle(30, 20, 4), Circle(60, 0, 8), Circle(95, 30, 4), Circle(130, 0, 3)]
    points = web_path(rolls)
    for roll in rolls:
        distances = [hypot(x - roll.x, y - roll.y) for x, y in points]
        assert min(distances) == pytest.approx(roll.r, abs=1e-6)


def test_web_lies_on_the_outer_side_of_its_turn() -> None:
    """Over a high roll, under a low one."""
    points = web_path([Circle(0, 0, 2), Circle(20, 20, 2), Circle(40, 0, 2), Circle(60, 20, 2)])
    assert max(y for x, y in points if abs(x - 20) < 2.1) == pytest.approx(22.0, abs=0.05)
    assert min(y for x, y in points if abs(x - 40) < 2.1) == pytest.approx(-2.0, abs=0.05)


def test_web_of_rolls_in_one_place_is_no_error() -> None:
    """A nip drawn at one station and height gives a path all the same."""
    assert web_path([Circle(0, 0, 2), Circle(0, 0, 2), Circle(9, 0, 1)])
    assert web_path([Circle(0, 0, 2)]) == []


@pytest.mark.parametrize(
    ("least", "scale"), [(1.0, 1), (3.2, 4), (48.0, 50), (61.0, 75), (76.0, 100), (101.0, 150)]
)
def test_scale_is_the_next_round_denominator(least: float, scale: int) -> None:
    """Never smaller than what fits."""
    assert nice_denominator(least) == scale


@pytest.mark.parametrize(("most", "shown"), [(0.7, 0.5), (1.0, 1.0), (333.0, 250.0), (4999.0, 2500.0)])
def test_magnification_is_the_last_round_number(most: float, shown: float) -> None:
    """Never larger than what fits."""
    assert nice_magnification(most) == shown


def test_long_line_breaks_into_rows_of_columns() -> None:
    """Twelve rolls stand in one row; the row names its first and last roll."""
    load_fonts()
    views = bar_views(sample("winder_inch"), "parallel", WORDING, WIDTH)
    assert [(view.first, view.last) for view in views] == [("R1", "R12")]


def test_extreme_skew_is_drawn_short_and_says_so(tmp_path: Path) -> None:
    """Only the amount tells how far: the bar ends in two strokes and stays in its column."""
    load_fonts()
    line = changed(
        tmp_path, "winder_inch", ("R9:  {operator: 14.2, drive: 26}", "R9:  {operator: 914.2, drive: 26}")
    )
    plain = bar_views(sample("winder_inch"), "parallel", WORDING, WIDTH)[0].drawing
    drawn = bar_views(line, "parallel", WORDING, WIDTH)[0].drawing
    assert len(drawn.contents) > len(plain.contents)


@pytest.mark.parametrize("name", NAMES)
def test_plot_has_a_row_for_every_roll(name: str) -> None:
    """Every id stands at the left."""
    shown = {
        text.text
        for drawing in found_left_plot(sample(name), WORDING, WIDTH)
        for group in drawing.contents
        if isinstance(group, Group)
        for text in group.contents
    }
    assert {roll.id for roll in sample(name).rolls} <= shown


def test_drawings_do_not_hang_on_settings_of_a_user() -> None:
    """What somebody has set for other plots changes no certificate, and stays as it was."""
    plain = _shapes(found_left_plot(sample("tutorial"), WORDING, WIDTH))
    with matplotlib.rc_context({"axes.linewidth": 6.0, "xtick.direction": "in", "axes.facecolor": "red"}):
        assert _shapes(found_left_plot(sample("tutorial"), WORDING, WIDTH)) == plain
        assert matplotlib.rcParams["axes.linewidth"] == 6.0


def _shapes(drawings: list[Drawing]) -> list[str]:
    return [renderSVG.drawToString(drawing) for drawing in drawings]
