"""Styles of the layout tables: what stands between a cell's edge and what is in it."""

from typing import Any

from certgen.certificate.look import BODY

Style = list[tuple[Any, ...]]
_ALL = ((0, 0), (-1, -1))


def padded(left: float, right: float, top: float, bottom: float) -> Style:
    """Return the style of a table with these paddings, in points, in every cell.

    The font is the embedded one, which also an empty cell would else not be set in.
    """
    sides = {"LEFT": left, "RIGHT": right, "TOP": top, "BOTTOM": bottom}
    return [("FONT", *_ALL, BODY), *((f"{side}PADDING", *_ALL, points) for side, points in sides.items())]


BARE = padded(0, 0, 0, 0)
