"""Page one on paper: its title, its blocks, and the foot with signatures and code at the foot of the page.

What gives way where the page is full is decided here, for only the pages know how high a block is.
"""

from collections.abc import Iterable, Iterator
from typing import Any

from reportlab.platypus import PageBreak, Spacer, TableStyle
from reportlab.platypus import Table as Grid

from certgen.document.content import Content, Paragraphs, Section
from certgen.figures.look import INK, width_of
from certgen.pdf.flowables import LABEL, PLACE_HEAD, SHORT_TITLE, Figures, SectionPlace, groups, markup
from certgen.pdf.grids import padded
from certgen.pdf.structure import Text

_FOOT_BLOCKS = 2  # signatures and the closing lines stand at the foot


def page_one(content: Content, figures: Figures, width: float, height: float) -> tuple[list[Any], bool]:
    """Return page one as flowables that end the page, and whether it fits; sizes in points."""
    section = content.sections[0]
    top = [
        *_title(content, width),
        SectionPlace(section.title),
        *_blocks(section, figures, width, slice(0, -_FOOT_BLOCKS)),
    ]
    foot = list(_blocks(section, figures, width, slice(-_FOOT_BLOCKS, None)))
    spare = height - _height(top, width) - _height(foot, width)
    fill = [Spacer(1, spare - 0.1)] if spare > 0.1 else []
    return [*top, *fill, *foot, PageBreak()], spare >= 0.0


def fitted(
    contents: Iterable[Content], figures: Figures, width: float, height: float
) -> tuple[Content, list[Any]]:
    """Return the first content whose page one fits, with that page as flowables; sizes in points.

    Where none fits, it is the fullest, which then goes over the page.
    """
    tried = []
    for content in contents:
        page, fits = page_one(content, figures, width, height)
        if fits:
            return content, page
        tried.append((content, page))
    return tried[0]


def _title(content: Content, width: float) -> Iterator[Any]:
    """The title, and number with revision at its right, over a rule."""
    row = [
        Text(markup(content.title), SHORT_TITLE),
        Text(markup(content.identification), PLACE_HEAD),
    ]
    room = min(width_of(content.title, SHORT_TITLE.fontName, SHORT_TITLE.fontSize) + 8.0, width * 0.6)
    table = Grid([row], colWidths=[room, width - room])
    rule = ("LINEBELOW", (0, 0), (-1, 0), 1.0, INK)
    table.setStyle(TableStyle([*padded(0, 0, 0, 4), ("VALIGN", (0, 0), (-1, -1), "BOTTOM"), rule]))
    yield table
    yield Spacer(1, 4)


def _blocks(section: Section, figures: Figures, width: float, which: slice) -> Iterator[Any]:
    for block in section.blocks[which]:
        if isinstance(block, Paragraphs):
            yield from (Text(markup(text), LABEL) for text in block.texts)
            continue
        for group in groups(block, figures, width):
            yield from group


def _height(flowables: list[Any], width: float) -> float:
    """The height of flowables that follow each other, in points, with the larger of the spaces between."""
    total, after = 0.0, 0.0
    for one in flowables:
        total += max(after, one.getSpaceBefore()) + one.wrap(width, 1e6)[1]
        after = one.getSpaceAfter()
    return total + after
