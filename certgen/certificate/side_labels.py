"""Names beside the rolls and under the monuments of the side view, kept apart and inside."""

from itertools import pairwise

from reportlab.graphics.shapes import Drawing

from certgen.certificate.look import BODY, RULE, STRONG, width_of
from certgen.certificate.pen import Letter, Point, Stroke, label, line
from certgen.certificate.shortened import shortened
from certgen.certificate.web_path import Circle
from certgen.certificate.wording import Wording
from certgen.survey.survey import Survey

_SIZE = 6.5
_ROOMS = (66.0, 44.0, 30.0, 20.0)  # points of a name beside its roll; the less, the more it is crowded

Box = tuple[float, float, float, float]


def floor_label(drawing: Drawing, at: Point, name: str) -> None:
    """Name a monument under the floor, within the drawing."""
    x, y = at
    shown = shortened(name, _ROOMS[0], BODY, _SIZE)
    half = width_of(shown, BODY, _SIZE) / 2.0
    label(drawing, (min(max(x, half), drawing.width - half), y), shown, Letter(_SIZE))


def roll_labels(
    drawing: Drawing, survey: Survey, circles: list[Circle], around: tuple[Wording, list[Point], float]
) -> None:
    """Name each roll at the first free place around it, farther out with a leader where it is crowded.

    `around` are the words, the points of the web's path and the height of the floor, which names keep off.
    """
    wording, web, floor = around
    taken: list[Box] = [*((c.x - c.r, c.y - c.r, c.x + c.r, c.y + c.r) for c in circles), *_along(web)]
    taken.append((0.0, floor - 3.0, drawing.width, floor + 0.5))
    for roll, circle in zip(survey.rolls, circles, strict=True):
        mark = f" ({wording.word('legend_reference')})" if roll.id == survey.reference.roll else ""
        text, half, (x, y) = _placed(roll.id, mark, circle, taken, drawing)
        taken.append(_box(x, y, half))
        gap = max(abs(x - circle.x) - half, abs(y + 2.0 - circle.y)) - circle.r
        if gap > 9.0:
            line(drawing, (circle.x, circle.y), _nearest(circle, _box(x, y, half)), Stroke(RULE, 0.4))
        label(drawing, (x, y), text, Letter(_SIZE, STRONG))


def _nearest(circle: Circle, box: Box) -> Point:
    """The point of a label's box that its leader meets first."""
    return min(max(circle.x, box[0]), box[2]), min(max(circle.y, box[1]), box[3])


def _along(points: list[Point]) -> list[Box]:
    """Small boxes along the web, so that labels keep off it."""
    found: list[Box] = []
    for (x0, y0), (x1, y1) in pairwise(points):
        steps = max(1, int(max(abs(x1 - x0), abs(y1 - y0)) / 4.0))
        for step in range(steps + 1):
            x, y = x0 + (x1 - x0) * step / steps, y0 + (y1 - y0) * step / steps
            found.append((x - 0.5, y - 0.5, x + 0.5, y + 0.5))
    return found


def _placed(
    name: str, mark: str, circle: Circle, taken: list[Box], drawing: Drawing
) -> tuple[str, float, Point]:
    """The label as it is drawn, half its width, and its place: shorter where there is no free one."""
    for room in _ROOMS:
        text = shortened(name, room, STRONG, _SIZE) + mark
        half = width_of(text, STRONG, _SIZE) / 2.0
        places = _inside(circle, half, drawing)
        free = (place for place in places if not any(_overlap(_box(*place, half), box) for box in taken))
        found = next(free, None)
        if found is not None:
            return text, half, found
    return text, half, places[0]


def _inside(circle: Circle, half: float, drawing: Drawing) -> list[Point]:
    """The places of a label that are within the drawing; where none is, all of them."""
    places = _places(circle, half)
    inside = [
        (x, y)
        for x, y in places
        if x - half >= 0.0 and x + half <= drawing.width and 12.0 <= y <= drawing.height - 6.0
    ]
    return inside or places


def _places(circle: Circle, half: float) -> list[Point]:
    """Above, below, right, left; then the same farther out."""
    found: list[Point] = []
    for away in (2.5, 11.0, 20.0, 29.0, 38.0):
        reach = circle.r + away
        found += [
            (circle.x, circle.y + reach),
            (circle.x, circle.y - reach - _SIZE * 0.75),
            (circle.x + reach + half, circle.y - 2.0),
            (circle.x - reach - half, circle.y - 2.0),
        ]
    return found


def _box(x: float, y: float, half: float) -> Box:
    return x - half - 1.0, y - 1.5, x + half + 1.0, y + _SIZE * 0.8


def _overlap(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
