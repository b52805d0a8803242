"""What the parts of a page are, for readers who hear it: heads, paragraphs, tables with their cells, figures.

The tree is that of tagged PDF (ISO 32000-1:2008, 14.7 and 14.8; ISO 14289-1:2014, PDF/UA-1). It is recorded
while the pages are drawn: what is drawn within an element is its content, under a number on its page; what is
drawn outside of all of them is no part of the document, as are rules, shades, running heads and feet.
"""

import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from reportlab.graphics.shapes import Drawing
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Flowable, Paragraph

Box = tuple[float, float, float, float]
_PAINTS = re.compile(r"(?:^|\s)(?:[SsFfBb]\*?|Tj|TJ|T\*|Do|sh)(?:\s|$)")
_ROLES = {
    **dict.fromkeys(("title", "short title"), "H1"),
    **dict.fromkeys(("head", "notice"), "H2"),
    "card roll": "H3",
    **dict.fromkeys(("caption", "aside"), "Caption"),
    **dict.fromkeys(("point", "small point"), "LI"),
}


@dataclass(frozen=True, slots=True)
class Piece:
    """Content of an element: the page (from 0) and its number there."""

    page: int
    number: int


@dataclass(slots=True, eq=False)
class Element:
    """A node of the tree: its role, and elements or pieces of content in reading order.

    `alt` says in words what a figure shows, `box` is its place on the page in points; `scope` is Row or
    Column for the head of one in a table; `columns` are those that a cell takes.
    """

    role: str
    parent: "Element | None" = None
    kids: list["Element | Piece"] = field(default_factory=list)
    alt: str = ""
    box: Box | None = None
    scope: str = ""
    columns: int = 1

    @property
    def last(self) -> "Element | None":
        """The last element in it; None where there is none, or content follows it."""
        kid = self.kids[-1] if self.kids else None
        return kid if isinstance(kid, Element) else None


class Structure:
    """The tree while it grows; `pages` are the elements of each page by the number of their content."""

    def __init__(self) -> None:
        self.document = Element("Document")
        self.pages: list[list[Element]] = []
        self._open = [self.document]

    def begin(self, role: str, **more: Any) -> Element:
        """Open a new element in the one that is open now; a caption belongs to what follows it."""
        parent = self._open[-1]
        element = Element(role, parent, **more)
        before = parent.last
        if role in {"Table", "Figure"} and before is not None and before.role == "Caption":
            parent.kids.pop()
            before.parent = element
            element.kids.append(before)
        parent.kids.append(element)
        self._open.append(element)
        return element

    def join(self, role: str) -> Element:
        """Open the last element of the one that is open now where it has that role, else a new one."""
        last = self._open[-1].last
        if last is None or last.role != role:
            return self.begin(role)
        return self.again(last)

    def again(self, element: Element) -> Element:
        """Open an element that goes on here, as a table on the next page."""
        self._open.append(element)
        return element

    def end(self) -> None:
        """Close the element that is open."""
        self._open.pop()

    def content(self, page: int) -> tuple[str, int]:
        """Return role and number for content of the element that is open, on a page from 0."""
        element = self._open[-1]
        self.pages += [[] for _ in range(page + 1 - len(self.pages))]
        number = len(self.pages[page])
        self.pages[page].append(element)
        element.kids.append(Piece(page, number))
        return element.role, number


class TaggedCanvas:
    """What a canvas needs so that its pages are tagged; it is mixed into one that holds its pages back."""

    structure: Structure
    _code: list[str]
    _held: list[dict[str, Any]]

    _lines = False  # whether the content has lines that go on

    def beginText(self, x: float = 0, y: float = 0, **more: Any) -> Any:  # noqa: N802  (reportlab's name)
        """Return a text; lines that go on end in a blank, so that no words run into each other read aloud."""
        text = super().beginText(x, y, **more)  # type: ignore[misc]  # of the canvas it is mixed into
        if self._lines:
            out, line = text._textOut, text.textLine
            text._textOut = lambda words, ends=0: out(f"{words} " if ends and words else words, ends)
            text.textLine = lambda words="": line(f"{words} ")
        return text

    @contextmanager
    def element(self, role: str, **more: Any) -> Iterator[Element]:
        """Open an element for what is drawn meanwhile."""
        yield self.structure.begin(role, **more)
        self.structure.end()

    @contextmanager
    def content(self, *, lines: bool = False) -> Iterator[None]:
        """Take what is drawn meanwhile for content of the element that is open; its `lines` may go on."""
        self.begin_content(lines=lines)
        yield
        self.end_content()

    def begin_content(self, *, lines: bool) -> None:
        """Take what is drawn from here for content of the element that is open."""
        self._lines = lines
        role, number = self.structure.content(len(self._held))
        self._code.append(f"/{role} << /MCID {number} >> BDC")

    def end_content(self) -> None:
        """End the content that was begun last."""
        self._code.append("EMC")
        self._lines = False


def with_artifacts(code: Iterable[str]) -> list[str]:
    """Return the code of a page with all that is painted outside of its elements marked as artifacts."""
    found: list[str] = []
    outside: list[str] = []
    within = False
    for line in code:
        if line.endswith(" >> BDC") and line.startswith("/"):
            found += _artifact(outside)
            outside, within = [], True
        if within:
            found.append(line)
            within = line != "EMC"
        else:
            outside.append(line)
    return [*found, *_artifact(outside)]


def _artifact(code: list[str]) -> list[str]:
    if any(map(_PAINTS.search, code)):
        return ["/Artifact BMC", *code, "EMC"]
    return code


class Text(Paragraph):  # type: ignore[misc]  # reportlab has no types
    """A paragraph that is an element of its own; its role follows from its style unless it is given.

    One that is broken over pages stays one element. `Lbl` and `LBody` are a label and what is said of it, of
    a list whose points they make.
    """

    def __init__(self, text: str | None, style: ParagraphStyle, *, role: str = "", **more: Any) -> None:
        super().__init__(text, style, **more)
        self._role = role or _ROLES.get(style.name, "P")
        self._drawn: list[Element] = []

    def split(self, width: float, height: float) -> list[Any]:
        """Break the paragraph; all parts are of the same element."""
        parts: list[Any] = super().split(width, height)
        for part in parts:
            part._role, part._drawn = self._role, self._drawn
        return parts

    def draw(self) -> None:
        """Draw the paragraph as content of its element."""
        structure = self.canv.structure
        opened = [structure.again(self._drawn[0])] if self._drawn else list(self._begin(structure))
        self._drawn[:] = opened[-1:]
        with self.canv.content(lines=True):
            super().draw()
        for _ in opened:
            structure.end()

    def _begin(self, structure: Structure) -> Iterator[Element]:
        if self._role == "Caption":
            yield structure.join("Caption")
        elif self._role in {"LI", "Lbl"}:
            yield structure.join("L")
            yield structure.begin("LI")
            yield structure.begin("LBody" if self._role == "LI" else "Lbl")
        elif self._role == "LBody":
            yield structure.join("L")
            yield structure.join("LI")
            yield structure.join("LBody")
        else:
            yield structure.begin(self._role)


class Illustration(Flowable):  # type: ignore[misc]  # reportlab has no types
    """A drawing as a figure; `alt` says in words what it shows."""

    def __init__(self, drawing: Drawing, alt: str) -> None:
        super().__init__()
        self._drawing, self._alt = drawing, alt

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Take what the drawing takes."""
        self.width, self.height = self._drawing.wrap(width, height)
        return self.width, self.height

    def draw(self) -> None:
        """Draw it as content of a figure."""
        corners = (self.canv.absolutePosition(*at) for at in ((0, 0), (self.width, self.height)))
        box = tuple(round(side, 1) for corner in corners for side in corner)
        with self.canv.element("Figure", alt=self._alt, box=box), self.canv.content():
            self._drawing.canv = self.canv
            self._drawing.draw()


class TableTags:
    """Tells the canvas the rows and cells of a table while it is drawn; its parts on later pages too.

    The first `heads` rows are those of the heads, which stand again on every page and count once.
    """

    def __init__(self, heads: int) -> None:
        self._heads = heads
        self._table: Element | None = None
        self._goes_on = self._skips = False
        self._content = False

    def __call__(self, table: Any, event: str, *told: Any) -> None:
        """Take an event as the drawing library tells it: of the table, a row or a cell begun or ended."""
        structure: Structure = table.canv.structure
        if event == "startTable":
            self._goes_on = self._table is not None
            self._table = structure.begin("Table") if self._table is None else structure.again(self._table)
        elif event == "startRow":
            self._skips = self._goes_on and told[0] < self._heads
            if not self._skips:
                structure.begin("TR")
        elif event == "startCell" and not self._skips:
            self._begin_cell(table, *told[:3])
        elif event == "endCell" and not self._skips:
            if self._content:
                table.canv.end_content()
            structure.end()
        elif event == "endTable" or (event == "endRow" and not self._skips):
            structure.end()

    def _begin_cell(self, table: Any, row: int, column: int, value: Any) -> None:
        """A cell with text is content; a drawing in one shows again what the cells beside it say."""
        if isinstance(value, tuple | list):  # as the library holds what is no text
            value = value[0]
        self._content = bool(value) and not isinstance(value, Drawing)
        spans = getattr(table, "_spanRanges", None) or {}
        first, _, last, _ = spans.get((column, row)) or (column, row, column, row)
        head = row < self._heads or last > first
        scope = "" if not self._content else "Column" if head else "Row" if column == 0 else ""
        structure: Structure = table.canv.structure
        structure.begin("TH" if scope else "TD", scope=scope, columns=last - first + 1)
        if self._content:
            table.canv.begin_content(lines="\n" in value if isinstance(value, str) else len(value.lines) > 1)
