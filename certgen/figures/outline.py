"""The line small, for page one: side view over plan on one axis of stations; and the strip of one figure.

What did not pass shows by shape as well as by colour: a thick ring as found, a full disc with the name boxed
as left. Heights are not to scale, and stations are spread where names would run into each other.
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from reportlab.graphics.barcode.qr import QrCodeWidget
from reportlab.graphics.shapes import Circle as CircleShape
from reportlab.graphics.shapes import Drawing, PolyLine, Rect

from certgen.assessment.assessment import ASPECTS, Assessment, Measured, RollResult
from certgen.assessment.rules import SETTLED
from certgen.document.content import Strip
from certgen.figures.bar_views import FOUND, LEFT
from certgen.figures.look import BAND, BLUE, BODY, GREY, INK, MM, ORANGE, STRONG, load_fonts, width_of
from certgen.figures.shapes import Letter, Point, Stroke, area, label, line, shortened, spread
from certgen.figures.side_view import Circle, web_path
from certgen.survey.survey import Round
from certgen.wording.wording import Wording

_SIZE = 7.0
_SIDE = 16.0 * MM  # height of the side view
_PLAN = 11.0 * MM
_NAMES = 12.0
_GAP = 7.0
_ASIDE = 62.0  # room at the left for what is what
_MOST_RADIUS, _LEAST_RADIUS = 11.0, 2.6
_REACH = 0.42  # of the room between two rolls, that a bar may lean
_MOST_LIMITS = 3.0  # a lean beyond so many limits is drawn as long as these
_STRIP_HEIGHT = 8.0


def outline(assessment: Assessment, wording: Wording, width: float, *, plan: bool) -> Drawing:
    """Return the line as one drawing, `width` in points: side view and names, with or without plan."""
    load_fonts()
    height = _SIDE + _NAMES + (_PLAN + _GAP if plan else 0.0)
    drawing = Drawing(width, height)
    places = _places(assessment, width)
    circles = _circles(assessment, places, height)
    web = web_path(circles)
    if web:
        flat = [coordinate for point in web for coordinate in point]
        drawing.add(PolyLine(flat, strokeColor=GREY, strokeWidth=0.5))
    for result, circle in zip(assessment.rolls, circles, strict=True):
        _roll(drawing, assessment, result, circle)
    label(drawing, (0, height - _SIDE / 2.0), wording.word("side_title"), Letter(_SIZE, anchor="start"))
    if plan:
        _plan(drawing, assessment, places, wording)
    _names(drawing, assessment, places)
    return drawing


def _places(assessment: Assessment, width: float) -> list[float]:
    """The x of every roll: in proportion to the stations, as far apart as the names ask for."""
    rolls = sorted(assessment.survey.rolls, key=lambda roll: roll.station_mm)
    low, high = rolls[0].station_mm, rolls[-1].station_mm
    left, right = _ASIDE + 14.0, width - 16.0
    scale = (right - left) / (high - low) if high > low else 0.0
    sought = [left + (roll.station_mm - low) * scale for roll in rolls]
    widest = max(width_of(roll.id, STRONG, _SIZE) for roll in rolls) + 6.0
    found = spread(sought, max(widest, 14.0), left - 8.0, right + 8.0)
    by_id = {roll.id: x for roll, x in zip(rolls, found, strict=True)}
    return [by_id[roll.id] for roll in assessment.survey.rolls]


def _least_room(places: list[float], alone: float) -> float:
    return min((b - a for a, b in pairwise(sorted(places))), default=alone)


def _circles(assessment: Assessment, places: list[float], height: float) -> list[Circle]:
    rolls = assessment.survey.rolls
    largest = max(roll.diameter_mm for roll in rolls)
    room = _least_room(places, 40.0)
    most = max(_LEAST_RADIUS, min(_MOST_RADIUS, room * 0.46))
    low, high = min(roll.height_mm for roll in rolls), max(roll.height_mm for roll in rolls)
    bottom, top = height - _SIDE + most + 2.0, height - most - 2.0
    scale = (top - bottom) / (high - low) if high > low else 0.0
    middle = (bottom + top) / 2.0
    return [
        Circle(
            x,
            bottom + (roll.height_mm - low) * scale if scale else middle,
            max(_LEAST_RADIUS, most * roll.diameter_mm / largest),
        )
        for roll, x in zip(rolls, places, strict=True)
    ]


def _short(result: RollResult, which: Round) -> bool:
    """Whether a roll did not pass in a round, in level or in parallel."""
    return any(result.aspect(name).verdict(which) not in SETTLED for name in ASPECTS)


def _roll(drawing: Drawing, assessment: Assessment, result: RollResult, circle: Circle) -> None:
    two = not assessment.one_round
    left = _short(result, assessment.last_round)
    found = two and _short(result, "as_found")
    drawing.add(
        CircleShape(
            circle.x,
            circle.y,
            circle.r,
            fillColor=BLUE if left else None,
            strokeColor=ORANGE if found else INK,
            strokeWidth=1.6 if found else 0.6,
        )
    )


def _plan(drawing: Drawing, assessment: Assessment, places: list[float], wording: Wording) -> None:
    """Every roll from its operator end at the bottom: tolerance, as found dashed, as left solid."""
    bottom = _NAMES + 2.0
    room = _least_room(places, 60.0)
    reach = min(room * _REACH, 14.0)
    for end, y in (("drive", bottom + _PLAN - 6.0), ("operator", bottom)):
        label(drawing, (0, y), wording.word(f"{end}_end"), Letter(_SIZE, anchor="start"))
    for result, x in zip(assessment.rolls, places, strict=True):
        aspect = result.parallel
        stood = aspect.as_left is not None and not aspect.adjusted
        last = aspect.recorded
        if last is None:
            line(drawing, (x, bottom), (x, bottom + _PLAN), Stroke(GREY, 0.5, (0.5, 2.0)))
            continue
        if last.verdict != "reference":
            half = reach / _MOST_LIMITS
            corners = [(x, bottom), (x - half, bottom + _PLAN), (x + half, bottom + _PLAN)]
            area(drawing, corners, BAND)
        if aspect.as_found is not None and aspect.as_found.verdict != "reference":
            _bar(drawing, (x, bottom), aspect.as_found, LEFT if assessment.one_round else FOUND, reach)
        if aspect.as_left is not None and not stood:
            _bar(drawing, (x, bottom), aspect.as_left, LEFT, reach)


def _bar(drawing: Drawing, at: Point, state: Measured, stroke: Stroke, reach: float) -> None:
    x, y = at
    share = state.error_mm_per_m / state.limit_mm_per_m if state.verdict != "reference" else 0.0
    lean = max(-_MOST_LIMITS, min(_MOST_LIMITS, share)) / _MOST_LIMITS * reach
    line(drawing, (x, y), (x + lean, y + _PLAN), Stroke(stroke.colour, stroke.width * 0.8, stroke.dash))


def _names(drawing: Drawing, assessment: Assessment, places: list[float]) -> None:
    reference = assessment.survey.reference.roll
    room = _least_room(places, 60.0)
    for result, x in zip(assessment.rolls, places, strict=True):
        short = any(_short(result, which) for which in assessment.surveyed)
        font = STRONG if short or result.id == reference else BODY
        text = shortened(result.id, room - 2.0, font, _SIZE)
        label(drawing, (x, 2.5), text, Letter(_SIZE, font))
        if _short(result, assessment.last_round):
            half = width_of(text, font, _SIZE) / 2.0 + 2.0
            drawing.add(
                Rect(x - half, 0.4, 2.0 * half, 9.4, fillColor=None, strokeColor=INK, strokeWidth=0.7)
            )


@lru_cache(maxsize=4)
def code_drawing(text: str, size: float) -> Drawing:
    """Return a text as a two-dimensional code (ISO/IEC 18004, level M) of that width, in points."""
    widget = QrCodeWidget(text, barLevel="M", barBorder=0)
    left, bottom, right, top = widget.getBounds()
    drawing = Drawing(size, size, transform=[size / (right - left), 0, 0, size / (top - bottom), 0, 0])
    drawing.add(widget.draw())
    return drawing


@dataclass(frozen=True, slots=True)
class _Axis:
    """From limits to points on a strip."""

    middle: float
    scale: float

    def at(self, limits: float, most: float) -> float:
        return self.middle + max(-most, min(most, limits)) * self.scale


def strip_drawing(strip: Strip, width: float) -> Drawing:
    """Return a figure against its limit: ring as found, dot as left, U as a line, the limit grey."""
    drawing = Drawing(width, _STRIP_HEIGHT)
    axis, y = _Axis(width / 2.0, (width / 2.0 - 4.0) / strip.most), _STRIP_HEIGHT / 2.0
    low, high = axis.at(-1.0, strip.most), axis.at(1.0, strip.most)
    drawing.add(Rect(low, 0, high - low, _STRIP_HEIGHT, fillColor=BAND, strokeWidth=0, strokeColor=None))
    line(drawing, (axis.middle, 0), (axis.middle, _STRIP_HEIGHT), Stroke(GREY, 0.5))
    for value, full in ((strip.found, False), (strip.left, True)):
        if value is None:
            continue
        colour, x = BLUE if full else ORANGE, axis.at(value, strip.most)
        ends = (axis.at(value - strip.expanded, strip.most), axis.at(value + strip.expanded, strip.most))
        line(drawing, (ends[0], y), (ends[1], y), Stroke(colour, 0.6))
        drawing.add(
            CircleShape(
                x,
                y,
                2.2,
                fillColor=colour if full else None,
                strokeColor=colour,
                strokeWidth=1.0,
            )
        )
    return drawing
