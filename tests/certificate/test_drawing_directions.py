"""Which way the drawings point: the ends that are named, leaning bars, wedges, whiskers and arrows.

Every expectation is worked out here from the slopes that the readings state and from the scale that the
caption states.
"""

from collections.abc import Iterator
from math import hypot

import pytest
from reportlab.graphics.shapes import Circle, Drawing, Group, Line, Polygon, String, transformPoint

from certgen import resources
from certgen.assessment.assess import assess
from certgen.assessment.assessment import AspectName, Assessment
from certgen.document.work_sheet import work_sheet
from certgen.figures.bar_views import FOUND, LEFT, BarView, bar_views
from certgen.figures.line_diagram import legend, line_diagram
from certgen.figures.look import BAND, BLUE, GREY, INK, MM, load_fonts
from certgen.figures.plots import comparison_plot, found_left_plot
from certgen.figures.shapes import Stroke
from certgen.figures.side_view import WEB, side_views
from certgen.figures.study_plot import study_plot
from certgen.network.solution import solve_survey
from certgen.pdf.work_sheet_pages import card
from certgen.reference_study.study import study
from certgen.resources import LANGUAGES
from certgen.survey.survey import BearingGrowth, Growth
from certgen.visits.comparison import within
from certgen.wording.wording import Wording
from tests.certificate.samples import WORDING, sample
from tests.certificate.test_worksheet import found_only
from tests.simulate.records import TARGETS, levelled, read, roll, setup, survey, tilt

WIDTH = 493.0
Point = tuple[float, float]
# slopes as found, mm/m: positive where the drive side is high, or downstream; R3 moves at the operator side
LEVEL = {"R2": -0.2, "R3": 0.24, "R4": 0.15, "R5": -0.1}
PARALLEL = {"R2": 0.2, "R3": 0.24, "R4": -0.23, "R5": -0.15}
MOVED = {"R2": "drive", "R3": "operator", "R4": "drive", "R5": "operator"}


def leaning() -> Assessment:
    """Return a line of a straight reference and four rolls with the slopes above, as found."""
    rolls = (roll("R1", adjustable="none"), *(roll(name, adjustable=side) for name, side in MOVED.items()))
    span = (TARGETS[1] - TARGETS[0]) / 1000.0
    seen = setup("A", {}, read("R1", 0.0, 0.0), *(read(name, 0.0, p * span) for name, p in PARALLEL.items()))
    level = levelled(tilt("R1", 0.0), *(tilt(name, q) for name, q in LEVEL.items()))
    return assess(solve_survey(survey(rolls, (seen,), level=level)))


def view_of(found: Assessment, name: AspectName, language: str = "en") -> BarView:
    """Return the one row of a plan or level view."""
    load_fonts()
    (view,) = bar_views(found, name, Wording(resources.templates(), language), WIDTH)
    return view


def lines(drawing: Drawing, stroke: Stroke) -> list[Line]:
    """Return the lines of that stroke."""
    dash = list(stroke.dash) if stroke.dash else None
    return [
        shape
        for shape in drawing.contents
        if isinstance(shape, Line)
        and (shape.strokeColor, shape.strokeWidth, shape.strokeDashArray)
        == (stroke.colour, stroke.width, dash)
    ]


def bars(view: BarView, stroke: Stroke = FOUND) -> dict[str, tuple[Point, Point]]:
    """Return the operator and the drive end of every bar of that stroke, by roll."""
    feet = {shape.text: shape.x for shape in strings(view.drawing) if shape.y == 8.0}
    found = {}
    for bar in lines(view.drawing, stroke):
        at = bar.x1 if view.name == "parallel" else bar.x1 + face(view) / 2.0
        found[min(feet, key=lambda name: abs(feet[name] - at))] = ((bar.x1, bar.y1), (bar.x2, bar.y2))
    return found


def face(view: BarView) -> float:
    """Return the length of a bar at the scale of the caption, in points."""
    return 2400.0 * MM / view.scale


def leans(view: BarView, slope: float) -> float:
    """Return how far the drive end stands off at scale and magnification, in points."""
    return slope * face(view) / 1000.0 * view.magnification


def strings(drawing: Drawing) -> list[String]:
    """Return the upright texts."""
    return [shape for shape in drawing.contents if isinstance(shape, String)]


def turned(drawing: Drawing) -> dict[str, tuple[float, float]]:
    """Return the turned texts with the place of their lower and upper end up the page."""
    found = {}
    for group in (shape for shape in drawing.contents if isinstance(shape, Group)):
        (text,) = group.contents
        long = text.fontSize * 0.5 * len(text.text)
        away = {"start": (0.0, long), "end": (-long, 0.0)}[text.textAnchor]
        found[text.text] = tuple(transformPoint(group.transform, (x, 0.0))[1] for x in away)
    return found


def arrows(drawing: Drawing) -> Iterator[tuple[Point, Point]]:
    """Yield tail and tip of every arrow of a move, and hold its head to the tip."""
    heads = [
        shape.points for shape in drawing.contents if isinstance(shape, Polygon) and shape.fillColor == GREY
    ]
    for shaft in lines(drawing, Stroke(GREY, 0.7)):
        tail, tip = (shaft.x1, shaft.y1), (shaft.x2, shaft.y2)
        (head,) = (points for points in heads if tuple(points[:2]) == tip)
        back = ((head[2] + head[4]) / 2.0, (head[3] + head[5]) / 2.0)
        length, along = hypot(tip[0] - tail[0], tip[1] - tail[1]), hypot(tip[0] - back[0], tip[1] - back[1])
        assert length > 6.0
        assert along > 2.0
        assert hypot(head[2] - head[4], head[3] - head[5]) > 2.0
        # the head widens back from the tip, along the shaft
        assert (tip[0] - back[0]) / along == pytest.approx((tip[0] - tail[0]) / length)
        assert (tip[1] - back[1]) / along == pytest.approx((tip[1] - tail[1]) / length)
        yield tail, tip


@pytest.mark.parametrize("language", LANGUAGES)
def test_level_view_names_the_end_at_each_end(language: str) -> None:
    """A letter left of every bar and one right of it, and which is which in words."""
    view, wording = view_of(leaning(), "level", language), Wording(resources.templates(), language)
    texts = strings(view.drawing)
    letters = {side: wording.word(f"{side}_mark") for side in ("operator", "drive")}
    assert letters["operator"] != letters["drive"]
    key = [text.text for text in texts if wording.word("operator_end") in text.text]
    for side, letter in letters.items():
        assert wording.word("titled", title=letter, text=wording.word(f"{side}_end")) in key[0]
    marks = {side: sorted(t.x for t in texts if t.text == letter) for side, letter in letters.items()}
    assert len(marks["operator"]) == len(marks["drive"]) == 5
    found = bars(view)
    ends = sorted(operator[0] for operator, _ in found.values())
    for operator, drive, start in zip(*marks.values(), ends, strict=True):
        assert start - 8.0 < operator < start
        assert start + face(view) < drive < start + face(view) + 8.0


@pytest.mark.parametrize("language", LANGUAGES)
def test_plan_names_the_end_at_each_end_and_the_way_downstream(language: str) -> None:
    """Operator side at the lower end, drive side at the upper one, an arrow to the right in words."""
    view, wording = view_of(leaning(), "parallel", language), Wording(resources.templates(), language)
    ends = turned(view.drawing)
    low, high = bars(view)["R2"]
    middle = (low[1] + high[1]) / 2.0
    assert ends[wording.word("operator_end")][1] < middle < ends[wording.word("drive_end")][0]
    (key,) = (s for s in view.drawing.contents if isinstance(s, Polygon) and s.fillColor is None)
    (text,) = (one for one in strings(view.drawing) if one.text == wording.word("downstream"))
    corners = list(zip(key.points[::2], key.points[1::2], strict=True))
    tip = max(corners)
    assert [x for x, _ in corners].count(tip[0]) == 1  # hollow, a point to the right: no move looks like it
    assert tip[0] < text.x
    assert abs(tip[1] - text.y) < 4.0
    assert sum(s.fillColor == GREY for s in view.drawing.contents if isinstance(s, Polygon)) == len(
        lines(view.drawing, Stroke(GREY, 0.7))
    )


@pytest.mark.parametrize(("name", "slopes"), [("level", LEVEL), ("parallel", PARALLEL)])
def test_bar_leans_the_way_of_its_slope_and_by_its_size(name: AspectName, slopes: dict[str, float]) -> None:
    """Drive side high is up, drive side downstream is right: the end named drive side stands off."""
    view = view_of(leaning(), name)
    found = bars(view)
    assert set(slopes) <= set(found)
    for one, slope in slopes.items():
        (x0, y0), (x1, y1) = found[one]
        run, lean = (x1 - x0, y1 - y0) if name == "level" else (y1 - y0, x1 - x0)
        assert run == pytest.approx(face(view))
        assert lean == pytest.approx(leans(view, slope), abs=1e-6)


@pytest.mark.parametrize("name", ["level", "parallel"])
def test_raising_or_moving_the_drive_side_moves_the_end_named_drive_side(name: AspectName) -> None:
    """As left against as found, the operator end staying where it is."""
    rolls = (roll("R1", adjustable="none"), roll("R2"))
    seen = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, -0.42), read("R2", 0.0, 0.0, "as_left"))
    level = levelled(tilt("R1", 0.0), tilt("R2", -0.2), tilt("R2", 0.0, in_round="as_left"))
    view = view_of(assess(solve_survey(survey(rolls, (seen,), level=level))), name)
    (start, before), (again, after) = bars(view)["R2"], bars(view, LEFT)["R2"]
    up = 1 if name == "level" else 0
    assert start == again
    assert after[up] - before[up] == pytest.approx(leans(view, 0.2), abs=1e-6)


@pytest.mark.parametrize(("name", "slopes"), [("level", LEVEL), ("parallel", PARALLEL)])
def test_arrow_stands_at_the_bearing_that_is_moved_and_takes_the_error_out(
    name: AspectName, slopes: dict[str, float]
) -> None:
    """Up at a drive side that is low, and up at the operator side of a roll whose drive side is high."""
    view, across, up = view_of(leaning(), name), 0, 1
    if name == "parallel":
        across, up = 1, 0
    found = {one: ends for one, ends in bars(view).items() if one in slopes}
    pointing = list(arrows(view.drawing))
    assert len(pointing) == len(slopes)
    for one, slope in slopes.items():
        operator, drive = found[one]
        beyond = [
            (tail, tip)
            for tail, tip in pointing
            if (
                drive[across] < tip[across] < drive[across] + 10.0
                if MOVED[one] == "drive"
                else operator[across] - 10.0 < tip[across] < operator[across]
            )
            and abs((tail[up] + tip[up]) / 2.0 - operator[up]) < 12.0
        ]
        ((tail, tip),) = beyond
        wanted = -slope if MOVED[one] == "drive" else slope
        assert (tip[up] - tail[up]) * wanted > 0.0, one


@pytest.mark.parametrize("name", ["level", "parallel"])
def test_amount_beside_an_arrow_has_the_sign_of_its_way(name: AspectName) -> None:
    """Plus is up, plus is downstream; the size is the slope over 2700 mm."""
    view, slopes = view_of(leaning(), name), LEVEL if name == "level" else PARALLEL
    shown = sorted(text.text for text in strings(view.drawing) if text.text[0] in "+−")
    amounts = [-2.7 * slope if MOVED[one] == "drive" else 2.7 * slope for one, slope in slopes.items()]
    assert shown == sorted(f"{amount:+.3f}".replace("-", "−") for amount in amounts)


@pytest.mark.parametrize("name", ["level", "parallel"])
def test_wedge_opens_from_the_operator_end_to_both_sides_of_the_target(name: AspectName) -> None:
    """Target and limit at the drive end: the cold target is the opposite of what the bearings grow."""
    grown = Growth(BearingGrowth(0.0, 0.0), BearingGrowth(-0.27, 0.108))  # up, downstream over 2700 mm
    rolls = (roll("R1", adjustable="none"), roll("R2", growth=grown))
    seen = setup("A", {}, read("R1", 0.0, 0.0), read("R2", 0.0, 0.0))
    taken = survey(rolls, (seen,), level=levelled(tilt("R1", 0.0), tilt("R2", 0.0)))
    view = view_of(assess(solve_survey(taken)), name)
    target = 0.1 if name == "level" else -0.04
    (x, y), drive = bars(view)["R2"]
    wedges = [s.points for s in view.drawing.contents if isinstance(s, Polygon) and s.fillColor == BAND]
    (wedge,) = (points for points in wedges if points[:2] == [x, y])
    along = face(view)
    for index, limit in ((2, -0.05), (4, 0.05)):
        off = leans(view, target + limit)
        corner = (x + along, y + off) if name == "level" else (x + off, y + along)
        assert wedge[index : index + 2] == pytest.approx(corner, abs=1e-6)
    assert drive != (x, y)


@pytest.mark.parametrize("name", ["level", "parallel"])
def test_whisker_is_u_to_either_side_of_the_drive_end(name: AspectName) -> None:
    """Its length is twice U at scale and magnification, with a tick at each end."""
    found = leaning()
    view = view_of(found, name)
    _, drive = bars(view)["R2"]
    expanded = found.rolls[1].aspect(name).as_found.U_mm_per_m
    half, up = leans(view, expanded), 1 if name == "level" else 0
    whiskers = [((one.x1, one.y1), (one.x2, one.y2)) for one in lines(view.drawing, Stroke(BLUE, 0.6))]
    (low, high), *_ = (
        one for one in whiskers if one[0][1 - up] == one[1][1 - up] == pytest.approx(drive[1 - up])
    )
    assert (low[up], high[up]) == pytest.approx((drive[up] - half, drive[up] + half), abs=1e-6)
    ticks = [one for one in whiskers if one[0][up] == one[1][up] and one[0][up] in (low[up], high[up])]
    assert len(ticks) == 2


def test_side_view_runs_downstream_to_the_right_and_upwards() -> None:
    """Stations and heights as on the line; the arrowhead on the web points on to the next roll."""
    load_fonts()
    survey_ = sample("dryer_mixed").survey
    (view,) = side_views(survey_, WORDING, WIDTH)
    circles = [shape for shape in view.drawing.contents if isinstance(shape, Circle)]
    for first, second, a, b in zip(circles, circles[1:], survey_.rolls, survey_.rolls[1:], strict=False):
        assert (second.cx - first.cx) * (b.station_mm - a.station_mm) > 0.0
        assert (second.cy - first.cy) * (b.height_mm - a.height_mm) > 0.0
    (head,) = (s.points for s in view.drawing.contents if isinstance(s, Polygon) and s.fillColor == GREY)
    assert circles[0].cx < (head[2] + head[4]) / 2.0 < head[0] < circles[1].cx


def test_inferred_web_path_is_drawn_and_named_as_one() -> None:
    """Dashed, as in the legend, and the caption says so."""
    side, *_, key = line_diagram(sample("dryer_mixed"), WORDING, WIDTH)
    (path,) = (s for s in side.drawing.contents if type(s).__name__ == "PolyLine")
    assert path.strokeDashArray == list(WEB.dash)
    assert "web path inferred" in side.caption
    assert len(lines(key.drawing, WEB)) == 1
    texts = [text.text for text in strings(legend(WORDING, WIDTH, unit="mm"))]
    assert "web path, inferred from stations and heights, not surveyed" in texts


def test_legend_names_what_is_drawn_and_nothing_else() -> None:
    """No as-left line and no cut bar where there is none, no move where every roll passes."""
    shown = {
        name: {text.text for text in strings(line_diagram(found, WORDING, WIDTH)[-1].drawing)}
        for name, found in (("found", found_only("unwind_wide")), ("tutorial", sample("tutorial")))
    }
    assert WORDING.word("legend_left") not in shown["found"]
    assert WORDING.word("legend_clipped") not in shown["found"]
    for key in ("legend_found", "legend_band", "legend_whisker", "legend_web"):
        assert WORDING.word(key) in shown["found"]
    assert WORDING.word("legend_move", unit="mm") in shown["found"]
    assert WORDING.word("legend_left") in shown["tutorial"]


def test_arrows_of_the_work_sheet_point_as_they_say() -> None:
    """Up, down, downstream to the right, upstream to the left."""
    load_fonts()
    seen = set()
    for group in work_sheet(leaning(), WORDING).groups:
        for one in group.rolls:
            for step, drawing in zip(one.steps, drawn(card(one, WORDING, WIDTH)[0]), strict=True):
                (head,) = (shape.points for shape in drawing.contents if isinstance(shape, Polygon))
                (shaft,) = (shape for shape in drawing.contents if isinstance(shape, Line))
                tip, back = head[:2], ((head[2] + head[4]) / 2.0, (head[3] + head[5]) / 2.0)
                way = (round(tip[0] - back[0], 6), round(tip[1] - back[1], 6))
                assert (shaft.x2 - shaft.x1) * way[0] + (shaft.y2 - shaft.y1) * way[1] > 0.0
                seen.add((step.action, way))
    assert seen == {
        ("Raise", (0.0, 7.0)),
        ("Lower", (0.0, -7.0)),
        ("Move downstream", (7.0, 0.0)),
        ("Move upstream", (-7.0, 0.0)),
    }


def drawn(part: object) -> Iterator[Drawing]:
    """Yield the drawings in a table that hold an arrow, in their order."""
    if isinstance(part, Drawing):
        if any(isinstance(shape, Polygon) for shape in part.contents):
            yield part
        return
    for row in getattr(part, "_cellvalues", part if isinstance(part, list | tuple) else ()):
        for cell in row if isinstance(row, list | tuple) else [row]:
            yield from drawn(cell)


def test_arrow_of_a_comparison_points_from_before_to_after() -> None:
    """E2 was high and came down; D5 was low and was raised. The tip is at the slope as left."""
    found = within(sample("dryer_mixed").solution)
    (drawing,) = comparison_plot(found, WORDING, WIDTH)
    heads = [s.points for s in drawing.contents if type(s).__name__ == "Path" and s.fillColor == INK]
    moved = [roll.aspect(name) for name in ("level", "parallel") for roll in found.rolls]
    changes = [
        one.after.slope_mm_per_m - one.before.slope_mm_per_m for one in moved if one.outcome == "moved"
    ]
    assert len(heads) == len(changes) > 4
    assert {change > 0.0 for change in changes} == {True, False}
    for head, change in zip(heads, changes, strict=True):
        assert (head[0] - (head[2] + head[4]) / 2.0) * change > 0.0
        assert abs(head[3] - head[5]) > 2.0


@pytest.mark.parametrize("language", LANGUAGES)
def test_plots_say_which_way_is_plus(language: str) -> None:
    """Under every panel of a slope and of a direction."""
    wording = Wording(resources.templates(), language)
    found = sample("dryer_mixed")
    level, parallel = wording.word("plus level"), wording.word("plus parallel")
    for drawing in (
        *found_left_plot(found, wording, WIDTH),
        *comparison_plot(within(found.solution), wording, WIDTH),
    ):
        assert {level, parallel} <= grouped(drawing)
    assert any(
        parallel in text for text in grouped(study_plot(study(found.solution, "as_found"), wording, WIDTH))
    )


def grouped(drawing: Drawing) -> set[str]:
    """Return the texts of a plot."""
    groups = (shape for shape in drawing.contents if isinstance(shape, Group))
    return {text.text for group in groups for text in group.contents}
