"""The line diagram: side view, plan and level view, each with its scale and magnification in its caption."""

from dataclasses import dataclass

from reportlab.graphics.shapes import Drawing

from certgen.assessment.assessment import Assessment
from certgen.certificate.bar_views import BarView, bar_views
from certgen.certificate.legend import legend
from certgen.certificate.look import load_fonts
from certgen.certificate.rounding import UNIT_SETS, plain
from certgen.certificate.side_view import side_view
from certgen.certificate.wording import Wording


@dataclass(frozen=True, slots=True)
class Picture:
    """A vector drawing with its caption (empty: none)."""

    caption: str
    drawing: Drawing


def line_diagram(assessment: Assessment, wording: Wording, width: float) -> list[Picture]:
    """Draw the whole line; `width` in points. Plan and level rows of the same rolls follow each other."""
    load_fonts()
    units = UNIT_SETS[assessment.survey.certificate.units][0]
    side = side_view(assessment.survey, wording, width)
    plan = bar_views(assessment, "parallel", wording, width)
    level = bar_views(assessment, "level", wording, width)
    return [
        Picture(wording.word("side_view", scale=side.scale), side.drawing),
        *(_captioned(view, len(plan), wording) for view in plan),
        *(_captioned(view, len(level), wording) for view in level),
        Picture("", legend(wording, width, unit=units.small.sign)),
    ]


def _captioned(view: BarView, rows: int, wording: Wording) -> Picture:
    key = "plan_view" if view.name == "parallel" else "cross_view"
    caption = wording.word(key, scale=view.scale, magnification=plain(view.magnification, 6))
    if rows > 1:
        caption += f"; {wording.word('figure_row', first=view.first, last=view.last)}"
    return Picture(caption, view.drawing)
