"""Shapes that say something by themselves: heads of arrows, ticks, triangles, and the legend of them."""

from dataclasses import replace
from itertools import pairwise

import pytest
from reportlab.graphics.shapes import Drawing, Line, Polygon, PolyLine
from reportlab.lib.colors import Color

from certgen.assessment.assess import assess
from certgen.assessment.assessment import AspectName, RollResult
from certgen.figures.bar_views import FOUND, LEFT, Column, draw_column, whisker
from certgen.figures.line_diagram import legend
from certgen.figures.look import BAND, BLUE, GREY, INK, load_fonts
from certgen.figures.shapes import Point, Stroke, arrow
from certgen.figures.side_view import WEB, side_views
from certgen.network.solution import solve_survey
from certgen.survey.survey import Roll
from tests.certificate.samples import WORDING, sample
from tests.simulate.records import levelled, read, roll, setup, survey, tilt

SPAN_M = 2.1
ORIGIN, LENGTH, LEAN = (100.0, 50.0), 80.0, 90.0


def corners(shape: Polygon) -> list[Point]:
    """Return the corners of a polygon."""
    return list(zip(shape.points[::2], shape.points[1::2], strict=True))


def filled(drawing: Drawing, colour: Color) -> list[list[Point]]:
    """Return the corners of the filled triangles of a colour."""
    found = [shape for shape in drawing.contents if isinstance(shape, Polygon) and shape.fillColor == colour]
    return [corners(shape) for shape in found if len(shape.points) == 6]


def heading(triangle: list[Point]) -> Point:
    """Return the way from the middle of its base to its tip, the corner that was drawn first."""
    (x, y), (x1, y1), (x2, y2) = triangle
    return x - (x1 + x2) / 2.0, y - (y1 + y2) / 2.0


def area_of(triangle: list[Point]) -> float:
    """Return the area of a triangle."""
    (x, y), (x1, y1), (x2, y2) = triangle
    return abs((x1 - x) * (y2 - y) - (x2 - x) * (y1 - y)) / 2.0


def lines(drawing: Drawing, stroke: Stroke) -> list[tuple[Point, Point]]:
    """Return start and end of the lines that are drawn with a stroke."""
    return [
        ((shape.x1, shape.y1), (shape.x2, shape.y2))
        for shape in drawing.contents
        if isinstance(shape, Line) and (shape.strokeColor, shape.strokeWidth) == (stroke.colour, stroke.width)
    ]


@pytest.mark.parametrize("way", [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)])
def test_arrow_points_where_it_ends(way: Point) -> None:
    """Its tip is its end, its wings lie 3 points behind, 1.4 to each side of the shaft."""
    drawing = Drawing(100.0, 100.0)
    end = (50.0 + 12.0 * way[0], 50.0 + 12.0 * way[1])
    arrow(drawing, (50.0, 50.0), end, Stroke(GREY, 0.7))
    (head,) = filled(drawing, GREY)
    assert head[0] == pytest.approx(end)
    assert heading(head) == pytest.approx((3.0 * way[0], 3.0 * way[1]))
    assert area_of(head) == pytest.approx(3.0 * 2.8 / 2.0)
    assert lines(drawing, Stroke(GREY, 0.7)) == [((50.0, 50.0), end)]


def drawn(name: AspectName, result: RollResult) -> Drawing:
    """Return the column of a roll: a bar of 80 points, 90 points for every mm/m, at most 40."""
    load_fonts()
    drawing = Drawing(300.0, 300.0)
    draw_column(
        Column(drawing, name, result, ORIGIN, LENGTH, LEAN, 40.0, 60.0, ("O", "D")),
        "pass",
        None,
    )
    return drawing


def surveyed(slope: float, left: float | None = None, **changes: object) -> tuple[Roll, RollResult]:
    """Return R2 with this slope as found and as left (mm/m), parallel and level."""
    rolls = (roll("R1"), roll("R2", **changes))
    readings = [read("R1", 0.0, 0.0), read("R2", 0.0, slope * SPAN_M)]
    levels = [tilt("R1", 0.0), tilt("R1", 0.0, turned=True), tilt("R2", slope)]
    if left is not None:
        readings.append(read("R2", 0.0, left * SPAN_M, "as_left"))
        levels.append(tilt("R2", left, in_round="as_left"))
    taken = survey(rolls, (setup("A", {}, *readings),), level=levelled(*levels))
    return rolls[1], assess(solve_survey(taken)).rolls[1]


def test_bar_beyond_its_reach_is_cut_there() -> None:
    """Two mm/m would be 180 points; it ends at 40, and two strokes say so."""
    drawing = drawn("parallel", surveyed(2.0)[1])
    ((_, end),) = lines(drawing, FOUND)
    assert end == pytest.approx((ORIGIN[0] + 40.0, ORIGIN[1] + LENGTH))
    assert len(lines(drawing, Stroke(FOUND.colour, 0.7))) == 2


@pytest.mark.parametrize("ends", [((10.0, 5.0), (30.0, 5.0)), ((10.0, 5.0), (10.0, 30.0))])
def test_whisker_has_a_tick_across_each_end(ends: tuple[Point, Point]) -> None:
    """1.8 points to each side."""
    drawing = Drawing(50.0, 50.0)
    whisker(drawing, *ends)
    _, *ticks = lines(drawing, Stroke(BLUE, 0.6))
    for (start, end), (x, y) in zip(ticks, ends, strict=True):
        assert ((start[0] + end[0]) / 2.0, (start[1] + end[1]) / 2.0) == pytest.approx((x, y))
        lying = ends[0][1] == ends[1][1]
        assert (end[0] - start[0], end[1] - start[1]) == pytest.approx((0.0, 3.6) if lying else (3.6, 0.0))


def test_web_runs_from_the_first_roll_to_the_last() -> None:
    """The arrow on the web points along its longest part, the way the path goes on."""
    load_fonts()
    for name in ("tutorial", "winder_inch", "dryer_mixed"):
        drawing = side_views(sample(name).survey, WORDING, 493.0)[0].drawing
        (path,) = (shape for shape in drawing.contents if isinstance(shape, PolyLine))
        points = corners(path)
        parts = [(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(points)]
        longest = max(parts, key=lambda part: part[0] ** 2 + part[1] ** 2)
        (head,) = filled(drawing, WEB.colour)
        ahead = heading(head)
        length = (longest[0] ** 2 + longest[1] ** 2) ** 0.5
        assert (ahead[0] * longest[0] + ahead[1] * longest[1]) / length == pytest.approx(7.0)
        assert area_of(head) == pytest.approx(7.0 * 4.4 / 2.0)


def test_monuments_are_triangles_that_stand_on_their_base() -> None:
    """Each at its station, tip up."""
    load_fonts()
    taken = sample("winder_inch").survey
    drawing = side_views(taken, WORDING, 493.0)[0].drawing
    found = filled(drawing, INK)
    assert len(found) == len(taken.monuments)
    for left, right, tip in found:
        assert left[1] == right[1] < tip[1]
        assert tip[0] == pytest.approx((left[0] + right[0]) / 2.0)
        assert area_of([left, right, tip]) > 10.0


def test_legend_shows_what_the_columns_show() -> None:
    """The wedge opens from a point, the arrow has its tip at its end."""
    load_fonts()
    drawing = legend(WORDING, 493.0, unit="mm")
    (wedge,) = filled(drawing, BAND)
    assert wedge[0][0] < wedge[1][0] == wedge[2][0]
    assert wedge[1][1] < wedge[0][1] < wedge[2][1]
    assert area_of(wedge) > 30.0
    (head,) = filled(drawing, GREY)
    assert heading(head) == pytest.approx((3.0, 0.0))


def test_reference_roll_has_no_wedge_and_no_whisker() -> None:
    """It is straight by definition: nothing is judged."""
    _, result = surveyed(0.0)
    reference = replace(result.parallel.as_found, verdict="reference") if result.parallel.as_found else None
    drawing = drawn(
        "parallel",
        replace(result, parallel=replace(result.parallel, as_found=reference, as_left=reference)),
    )
    assert filled(drawing, BAND) == []
    assert lines(drawing, Stroke(BLUE, 0.6)) == []
    assert len(lines(drawing, LEFT)) == 1
