"""The legend of the line diagram, with long names instead of signs to be learnt."""

from collections.abc import Collection
from typing import get_args

from reportlab.graphics.shapes import Drawing

from certgen.certificate.bar_marks import FOUND, LEFT, Mark, cut, whisker
from certgen.certificate.look import BAND, BODY, GREY, RULE, width_of
from certgen.certificate.pen import Letter, Stroke, area, arrow, label, line
from certgen.certificate.side_view import WEB
from certgen.certificate.wording import Wording

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
