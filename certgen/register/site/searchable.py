"""Tables of the overview, each row with the words by which the search finds it."""

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from certgen.certificate.html_blocks import wide
from certgen.certificate.wording import Wording

_ROW_HEAD, _CELL = Markup('<th scope="row">{}</th>'), Markup("<td>{}</td>")
_SECTION = Markup('<section aria-labelledby="{}">\n<h2 id="{}">{} ({})</h2>\n{}\n</section>')
_TABLE = Markup('<table data-told="{}"><thead><tr>{}</tr></thead><tbody>\n{}\n</tbody></table>')


@dataclass(frozen=True, slots=True)
class Row:
    """A row of text or links; `words` find it beside what it shows, `bold` sets it off; `rank` sorts."""

    words: str
    cells: tuple[str, ...]
    bold: bool = False
    rank: tuple[int, str] = (0, "")


@dataclass(frozen=True, slots=True)
class Searchable:
    """A table under a title of its own; `name` is its place on the page, `heads` are keys of words."""

    name: str
    heads: tuple[str, ...]
    rows: Sequence[Row]


def searchable(table: Searchable, wording: Wording) -> Markup:
    """Return the section of a table with the count of its rows; a sentence in the place of an empty one."""
    title = wording.word(f"site_section_{table.name}")
    inner = wide(title, _table(table, title, wording)) if table.rows else _nothing(table, wording)
    return _SECTION.format(table.name, table.name, title, len(table.rows), inner)


def _nothing(table: Searchable, wording: Wording) -> Markup:
    return Markup("<p>{}</p>").format(wording.word(f"site_no_{table.name}"))


def _table(table: Searchable, title: str, wording: Wording) -> Markup:
    heads = Markup("").join(
        Markup('<th scope="col">{}</th>').format(wording.word(key)) for key in table.heads
    )
    return _TABLE.format(title, heads, Markup("\n").join(_row(row) for row in table.rows))


def _row(row: Row) -> Markup:
    first, *others = row.cells
    cells = _ROW_HEAD.format(first) + Markup("").join(_CELL.format(cell) for cell in others)
    bold = Markup(' class="bold"') if row.bold else Markup("")
    return Markup('<tr{} data-words="{}">{}</tr>').format(bold, row.words, cells)
