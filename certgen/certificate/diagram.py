"""The line diagram: side view, plan and level view, each with its scale and magnification in its caption."""

from dataclasses import dataclass
from itertools import zip_longest

from reportlab.graphics.shapes import Drawing

from certgen.assessment.assessment import Assessment
from certgen.certificate.bar_marks import Mark
from certgen.certificate.bar_views import BarView, bar_views
from certgen.certificate.legend import legend
from certgen.certificate.look import load_fonts
from certgen.certificate.rounding import UNIT_SETS
from certgen.certificate.side_view import SideView, side_views
from certgen.certificate.wording import Wording


@dataclass(frozen=True, slots=True)
class Picture:
    """A vector drawing with its caption (empty: none)."""

    caption: str
    drawing: Drawing


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
