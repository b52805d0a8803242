"""What a certificate holds, as plain records: every word and number in place, nothing drawn yet.

Exporters turn these records into pages; tests read them before they read any PDF.
"""

from dataclasses import dataclass, replace
from typing import Literal

from markupsafe import Markup

from certgen.wording.wording import unhyphenated

Align = Literal["left", "decimal", "centre"]
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

    `share` is its part of the width against the other columns. `unit` is that of its numbers, where neither
    title nor group but only the note of the table states it on the page.
    """

    title: str
    align: Align = "decimal"
    group: str = ""
    share: float = 1.0
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """A table; every row has a text for every column. A cell may hold two lines, for two unit systems.

    `emphasis` are the rows that hold a verdict other than pass; they are set bold, never only coloured.
    """

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""
    emphasis: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class VerdictBox:
    """The verdict on one round: its title ("The line as found"), the verdict in words and a count."""

    title: str
    verdict: str
    detail: str
    passed: bool


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
class Figure:
    """A drawing, named: `line` (side view, plan, level), `plot` (as found to as left), or by its document."""

    name: Literal["line", "plot", "study", "comparison", "trend"]


@dataclass(frozen=True, slots=True)
class Signatures:
    """Places to sign: role, name; `date` is the word for the day, for which there is a line at each."""

    places: tuple[tuple[str, str], ...]
    date: str


Block = Paragraphs | Facts | Table | Verdicts | Notice | Figure | Signatures


@dataclass(frozen=True, slots=True)
class Section:
    """One titled part of the certificate."""

    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Content:
    """The whole certificate in reading order.

    `identification` stands on every page; `contractor` above it; `end` is the end mark; `letterhead` are the
    contractor's own lines at the top of the first page.
    """

    title: str
    identification: str
    contractor: str
    author: str
    language: str
    sections: tuple[Section, ...]
    end: str
    letterhead: tuple[str, ...] = ()


def whole_words(table: Table) -> Table:
    """Return the table with the words of its heads and cells whole."""
    return replace(
        table,
        caption=unhyphenated(table.caption),
        columns=tuple(
            replace(column, title=unhyphenated(column.title), group=unhyphenated(column.group))
            for column in table.columns
        ),
        rows=tuple(tuple(unhyphenated(cell) for cell in row) for row in table.rows),
    )
