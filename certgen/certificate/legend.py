"""The legend of the line diagram, with long names instead of signs to be learnt."""

from reportlab.graphics.shapes import Drawing

from certgen.certificate.bar_marks import FOUND, LEFT, cut, whisker
from certgen.certificate.look import BAND, BODY, GREY, RULE, width_of
from certgen.certificate.pen import Letter, Stroke, area, arrow, label, line
from certgen.certificate.side_view import WEB
from certgen.certificate.wording import Wording

_SIZE = 6.5
_ROW = 10.0
_SAMPLE = 18.0
_KEYS = (
    "legend_found",
    "legend_left",
    "legend_band",
    "legend_whisker",
    "legend_move",
    "legend_clipped",
    "legend_web",
)


def legend(wording: Wording, width: float, *, unit: str) -> Drawing:
    """Draw the legend in as many rows as the width (points) asks for; `unit` is that of the moves."""
    texts = {key: wording.word(key, unit=unit) for key in _KEYS}
    places = _places(texts, width)
    rows = 1 + max(row for row, _ in places.values())
    drawing = Drawing(width, rows * _ROW + 2.0)
    for key, (row, x) in places.items():
        y = drawing.height - (row + 1) * _ROW + 2.0
        _sample(drawing, key, x, y + 2.3)
        label(drawing, (x + _SAMPLE + 3.0, y), texts[key], Letter(_SIZE, anchor="start"))
    return drawing


def _places(texts: dict[str, str], width: float) -> dict[str, tuple[int, float]]:
    places: dict[str, tuple[int, float]] = {}
    row, x = 0, 0.0
    for key, text in texts.items():
        needed = _SAMPLE + 3.0 + width_of(text, BODY, _SIZE) + 12.0
        if x and x + needed > width:
            row, x = row + 1, 0.0
        places[key] = (row, x)
        x += needed
    return places


def _sample(drawing: Drawing, key: str, x: float, y: float) -> None:
    end = x + _SAMPLE
    middle = x + _SAMPLE / 2.0
    if key == "legend_found":
        line(drawing, (x, y), (end, y), FOUND)
    elif key == "legend_left":
        line(drawing, (x, y), (end, y), LEFT)
    elif key == "legend_band":
        area(drawing, [(x, y), (end, y - 3.0), (end, y + 3.0)], BAND, Stroke(RULE, 0.4))
    elif key == "legend_whisker":
        whisker(drawing, (x + 3.0, y), (end - 3.0, y))
    elif key == "legend_move":
        arrow(drawing, (middle - 5.0, y), (middle + 5.0, y), Stroke(GREY, 0.7))
    elif key == "legend_web":
        line(drawing, (x, y), (end, y), WEB)
    else:
        line(drawing, (x, y), (middle, y), FOUND)
        cut(drawing, (middle, y), FOUND)
