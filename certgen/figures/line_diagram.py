"""The line diagram: side view, plan and level view, each with its scale; and their legend."""

from collections.abc import Collection
from dataclasses import dataclass
from itertools import zip_longest
from typing import get_args

from reportlab.graphics.shapes import Drawing

from certgen.assessment.assessment import Assessment
from certgen.figures.bar_views import FOUND, LEFT, BarView, Mark, bar_views, cut, whisker
from certgen.figures.look import BAND, BODY, GREY, RULE, load_fonts, width_of
from certgen.figures.shapes import Letter, Stroke, area, arrow, label, line
from certgen.figures.side_view import WEB, SideView, side_views
from certgen.wording.rounding import UNIT_SETS
from certgen.wording.wording import Wording

_SIZE = 6.5
_ROW = 10.0
_SAMPLE = 18.0
_MARKS: tuple[Mark, ...] = get_args(Mark)


def legend(wording: Wording, width: float, *, unit: str, marks: Collection[Mark] = _MARKS) -> Drawing:
    """Draw the legend of these marks in as many rows as the width (points) asks for.

    `unit` is that of the moves.
    """
    texts = {mark: wording.word(f"legend_{mark}", unit=unit) for mark in _MARKS if mark in marks}
    places = _places(texts, width)
    rows = 1 + max((row for row, _ in places.values()), default=0)
    drawing = Drawing(width, rows * _ROW + 2.0)
    for mark, (row, x) in places.items():
        y = drawing.height - (row + 1) * _ROW + 2.0
        _sample(drawing, mark, x, y + 2.3)
        label(drawing, (x + _SAMPLE + 3.0, y), texts[mark], Letter(_SIZE, anchor="start"))
    return drawing


def _places(texts: dict[Mark, str], width: float) -> dict[Mark, tuple[int, float]]:
    places: dict[Mark, tuple[int, float]] = {}
    row, x = 0, 0.0
    for mark, text in texts.items():
        needed = _SAMPLE + 3.0 + width_of(text, BODY, _SIZE) + 12.0
        if x and x + needed > width:
            row, x = row + 1, 0.0
        places[mark] = (row, x)
        x += needed
    return places


def _sample(drawing: Drawing, mark: Mark, x: float, y: float) -> None:
    end = x + _SAMPLE
    middle = x + _SAMPLE / 2.0
    if mark == "found":
        line(drawing, (x, y), (end, y), FOUND)
    elif mark == "left":
        line(drawing, (x, y), (end, y), LEFT)
    elif mark == "band":
        area(drawing, [(x, y), (end, y - 3.0), (end, y + 3.0)], BAND, Stroke(RULE, 0.4))
    elif mark == "whisker":
        whisker(drawing, (x + 3.0, y), (end - 3.0, y))
    elif mark == "move":
        arrow(drawing, (middle - 5.0, y), (middle + 5.0, y), Stroke(GREY, 0.7))
    elif mark == "web":
        line(drawing, (x, y), (end, y), WEB)
    else:
        line(drawing, (x, y), (middle, y), FOUND)
        cut(drawing, (middle, y), FOUND)


@dataclass(frozen=True, slots=True)
class Picture:
    """A vector drawing with its caption above it and a note below (empty: none)."""

    caption: str
    drawing: Drawing
    note: str = ""

    @property
    def alt(self) -> str:
        """What it shows, in words; empty where that is what the one before it shows."""
        return self.caption or self.note


def line_diagram(assessment: Assessment, wording: Wording, width: float) -> list[Picture]:
    """Draw the whole line; `width` in points. The views of the same rolls follow each other."""
    load_fonts()
    units = UNIT_SETS[assessment.survey.certificate.units][0]
    plan, level = (bar_views(assessment, name, wording, width) for name in ("parallel", "level"))
    pictures = (
        _side(assessment, wording, width),
        _bars("plan_view", plan, wording),
        _bars("cross_view", level, wording),
    )
    rows = [picture for row in zip_longest(*pictures) for picture in row if picture is not None]
    web: tuple[Mark, ...] = ("web",) if len(assessment.survey.rolls) > 1 else ()
    marks = frozenset(web).union(*(view.marks for view in (*plan, *level)))
    return [*rows, Picture("", legend(wording, width, unit=units.small.sign, marks=marks))]


def _side(assessment: Assessment, wording: Wording, width: float) -> list[Picture]:
    views = side_views(assessment.survey, wording, width)
    return [
        Picture(
            _caption(wording.word("side_view", scale=view.scale), view, len(views), wording), view.drawing
        )
        for view in views
    ]


def _bars(key: str, views: list[BarView], wording: Wording) -> list[Picture]:
    found = []
    for view in views:
        magnification = wording.digits.plain(view.magnification, 6)
        caption = wording.word(key, scale=view.scale, magnification=magnification)
        found.append(Picture(_caption(caption, view, len(views), wording), view.drawing))
    return found


def _caption(caption: str, view: BarView | SideView, rows: int, wording: Wording) -> str:
    """A row of a long line names its first and last roll."""
    if rows == 1:
        return caption
    row = wording.word("figure_row", first=view.first, last=view.last)
    return wording.word("between_clauses").join((caption, row))
