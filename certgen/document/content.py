"""What a certificate holds, as plain records: every word and number in place, nothing drawn yet.

Exporters turn these records into pages; tests read them before they read any PDF.
"""

from dataclasses import dataclass, replace
from typing import Literal

from markupsafe import Markup

from certgen.wording.wording import unhyphenated

Align = Literal["left", "right", "decimal", "centre", "strip"]
Text = str | Markup


@dataclass(frozen=True, slots=True)
class Paragraphs:
    """Running text; paragraphs that start with "- " are points of a list."""

    texts: tuple[Text, ...]


@dataclass(frozen=True, slots=True)
class Facts:
    """Pairs of label and value, set in that many columns."""

    pairs: tuple[tuple[str, str], ...]
    columns: int = 1


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table. `group` is the head that spans it and its neighbours of the same group.

    `share` is its part of the width against the other columns. `unit` is that of its numbers; it stands under
    the title where `shows_unit`, else title, group or the note of the table state it on the page.
    """

    title: str
    align: Align = "decimal"
    group: str = ""
    share: float = 1.0
    unit: str = ""
    shows_unit: bool = False


@dataclass(frozen=True, slots=True)
class Strip:
    """A figure against its limit, to be drawn: as found and as left (None: not there) and U, in limits.

    `most` is how many limits the strip reaches to either side; it is the same down a column.
    """

    found: float | None
    left: float | None
    expanded: float
    most: float


Cell = str | Strip


@dataclass(frozen=True, slots=True)
class Table:
    """A table; every row has a cell for every column. A text may hold two lines, for two unit systems.

    `emphasis` are the rows that hold a verdict other than pass, `strong` the cells (row, column) that do;
    they are set bold, never only coloured. `groups` are titles that stand before the row of that index.
    `aside` says, beside the caption, what holds for the whole table.
    """

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    note: str = ""
    emphasis: frozenset[int] = frozenset()
    strong: frozenset[tuple[int, int]] = frozenset()
    groups: tuple[tuple[int, str], ...] = ()
    aside: str = ""


@dataclass(frozen=True, slots=True)
class VerdictBox:
    """The verdict on one round: its title ("The line as found"), the verdict, what it says of the rolls.

    `says` is the verdict under its label, `sentence` counts rolls; `details` are what stands under it, the
    last one in small print. `dashed` is the line of a round that the drawings show dashed (as found, where
    there is a round after it).
    """

    title: str
    verdict: str
    sentence: str
    details: tuple[str, ...]
    passed: bool
    dashed: bool = False
    says: str = ""


@dataclass(frozen=True, slots=True)
class Verdicts:
    """The overall verdicts side by side."""

    boxes: tuple[VerdictBox, ...]


@dataclass(frozen=True, slots=True)
class Notice:
    """What nobody may overlook, in a frame: its title and its paragraphs."""

    title: str
    texts: tuple[Text, ...]


@dataclass(frozen=True, slots=True)
class Parties:
    """Who and where, side by side: a label, and lines of which the first is the name."""

    columns: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True)
class Statements:
    """Labels with what is to be said of each in a sentence or two."""

    pairs: tuple[tuple[str, Text], ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing, named: `outline` (page one), `line` (side view, plan, level), `plot`, or by its document."""

    name: Literal["outline", "outline_small", "line", "plot", "study", "comparison", "trend"]


@dataclass(frozen=True, slots=True)
class Verify:
    """How to verify: its label, the command, what it does, the label of the digest and the digest.

    `code` is the text of the two-dimensional code.
    """

    label: str
    command: str
    text: str
    digest_label: str
    digest: str
    code: str


@dataclass(frozen=True, slots=True)
class Signatures:
    """Places to sign: role, name; `date` is the word for the day. `verify` stands beside them."""

    places: tuple[tuple[str, str], ...]
    date: str
    verify: Verify | None = None


Block = Paragraphs | Facts | Table | Verdicts | Notice | Parties | Statements | Figure | Signatures


@dataclass(frozen=True, slots=True)
class Section:
    """One titled part of the certificate; `annex` is its letter where it is one.

    A section that is `one_page` has a page to itself, its last block at the foot, and no head on paper.
    """

    title: str
    blocks: tuple[Block, ...]
    annex: str = ""
    one_page: bool = False
    annex_title: str = ""

    @property
    def head(self) -> str:
        """The title as it stands over the section, with the letter of an annex."""
        return self.annex_title or self.title


@dataclass(frozen=True, slots=True)
class Content:
    """The whole certificate in reading order.

    `identification` stands on every page; `contractor` above it; `end` is the end mark; `letterhead` are the
    contractor's own lines at the top of the first page; `draft` is the mark of every page of a draft.
    """

    title: str
    identification: str
    contractor: str
    author: str
    language: str
    sections: tuple[Section, ...]
    end: str
    letterhead: tuple[str, ...] = ()
    draft: str = ""

    @property
    def has_page_one(self) -> bool:
        """Whether it begins with a section that has a page to itself."""
        return any(section.one_page for section in self.sections[:1])


def whole_words(table: Table) -> Table:
    """Return the table with the words of its heads and cells whole."""
    return replace(
        table,
        caption=unhyphenated(table.caption),
        columns=tuple(
            replace(column, title=unhyphenated(column.title), group=unhyphenated(column.group))
            for column in table.columns
        ),
        rows=tuple(
            tuple(unhyphenated(cell) if isinstance(cell, str) else cell for cell in row) for row in table.rows
        ),
    )
