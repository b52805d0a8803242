"""The overview of the site: every line and every certificate, to search in, and calibrations that ran out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from markupsafe import Markup

from certgen.document.content import Facts, Section
from certgen.register.due import RanOut
from certgen.register.entries import Certificate, words_of
from certgen.register.site.holdings import Holdings, Line, Listed, Told
from certgen.register.site.line import due_text, why_no_trend
from certgen.register.site.page import (
    INDEX,
    Page,
    day,
    is_passing,
    link,
    number_link,
    parted,
    plain,
    sections_html,
    standing,
    standing_verdict,
)
from certgen.web.html_blocks import wide
from certgen.wording.values import joined
from certgen.wording.wording import Wording

# The words of a row are those that `certgen register list --text` looks through. Letters count alike with and
# without marks and capitals; every word asked for must be there.
SCRIPT = """
(() => {
  const box = document.getElementById("search");
  const told = document.getElementById("told");
  const plain = text => text.toLowerCase().replaceAll("ß", "ss").normalize("NFD").replace(/\\p{M}/gu, "");
  const kinds = [...document.querySelectorAll("table[data-told]")].map(table => ({
    table,
    rows: [...table.tBodies[0].rows].map(row => [row, plain(row.dataset.words + " " + row.textContent)]),
  }));
  const search = () => {
    const words = plain(box.value).split(/\\s+/).filter(Boolean);
    const counts = kinds.map(kind => {
      let count = 0;
      for (const [row, text] of kind.rows) {
        row.hidden = !words.every(word => text.includes(word));
        count += !row.hidden;
      }
      return kind.table.dataset.told + " " + count;
    });
    told.textContent = words.length ? counts.join(", ") : "";
  };
  box.closest("form").hidden = false;
  box.closest("form").addEventListener("submit", event => event.preventDefault());
  box.addEventListener("input", search);
  addEventListener("pageshow", search);
})();
"""
_ROW_HEAD, _CELL = Markup('<th scope="row">{}</th>'), Markup("<td>{}</td>")
_SECTION = Markup('<section aria-labelledby="{}">\n<h2 id="{}">{} ({})</h2>\n{}\n</section>')
_TABLE = Markup('<table data-told="{}"><thead><tr>{}</tr></thead><tbody>\n{}\n</tbody></table>')
# what is looked for first stands first: on a narrow screen the rest is reached by scrolling
_LINES = ("line", "as_left", "site_due", "site_surveyed", "site_section_trend", "asset", "customer")
_CERTIFICATES = (
    "site_certificate", "site_revision", "as_found", "as_left", "date_of_issue", "line", "customer",
    "site_standing",
)  # fmt: skip
_RAN_OUT = ("site_ran_out", "calibrated", "instrument", "serial", "site_next_calibration", "site_relied")
_SEARCH = Markup("""\
<form class="search" role="search" hidden>
<label for="search">{label}</label>
<input id="search" type="search" autocomplete="off" spellcheck="false" aria-describedby="told">
<p id="told" role="status"></p>
</form>""")


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
    inner = (
        wide(title, _table(table, title, wording))
        if table.rows
        else Markup("<p>{}</p>").format(wording.word(f"site_no_{table.name}"))
    )
    return _SECTION.format(table.name, table.name, title, len(table.rows), inner)


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


@dataclass(frozen=True, slots=True)
class Overview:
    """What the overview shows, and on what day; `lines` has a row for every line."""

    held: Holdings
    lines: Sequence[Row]
    ran_out: Sequence[RanOut]
    on: date


def overview_page(shown: Overview, wording: Wording) -> Page:
    """Return the page that the site opens with."""
    lines = {one.name: line for line in shown.held.lines for one in line.certificates}
    certificates = [_certificate(one, lines[one.name], wording) for one in shown.held.certificates]
    by_number = {(one.certificate.number, one.certificate.revision): one for one in shown.held.certificates}
    tables = (
        Searchable("lines", _LINES, sorted(shown.lines, key=lambda row: row.rank)),
        Searchable("certificates", _CERTIFICATES, certificates),
        Searchable("ran_out", _RAN_OUT, [_calibration(one, by_number, wording) for one in shown.ran_out]),
    )
    held = shown.held
    counting = sum(one.counts for one in held.certificates)
    counts = wording.word("site_count", all=len(held.certificates), in_force=counting)
    facts = Facts(
        (
            (plain(wording, "site_section_certificates"), counts),
            (plain(wording, "site_entries"), f"{held.head.count}"),
            (plain(wording, "site_head"), f"{held.head}"),
            (plain(wording, "site_what"), wording.word("site_what_text")),
        )
    )
    about = Section(wording.word("site_section_register"), (facts,))
    parts = (
        _SEARCH.format(label=wording.word("site_search")),
        *(searchable(table, wording) for table in tables),
        sections_html((about,), {}),
    )
    return Page(
        file=INDEX,
        heading=wording.word("site_title"),
        below=wording.word("site_below", day=wording.date(shown.on)),
        body=Markup("\n").join(parts),
        script=SCRIPT,
    )


def line_row(line: Line, told: Told, on: date, wording: Wording) -> Row:
    """Return the row of a line; bold where it was left outside tolerance."""
    one = line.latest.certificate
    # what moves, in a few words
    if told.trend is None:
        trend = why_no_trend(told, wording)
    else:
        shown = {"site_drifting": told.trend.drifting, "site_unsteady": told.trend.unsteady}
        parts = [
            wording.word(key, list=joined(f"{roll} {wording.inline(aspect)}" for roll, aspect in pairs))
            for key, pairs in shown.items()
            if pairs
        ]
        trend = wording.word("sheet_apart").join(parts) or wording.word("trend_none")
    cells = (
        link(line.page, one.line),
        standing_verdict(one, wording),
        due_text(told, on, wording),
        day(one.finished, wording),
        trend,
        parted(one.asset),
        parted(one.customer),
    )
    rank = (0, f"{told.due}") if told.is_overdue(on) else (1, "")  # overdue lines first
    return Row(_words(one), cells, bold=not is_passing(line.latest), rank=rank)


def _words(one: Certificate) -> str:
    """What a row is found by; the search of a page looks for every word by itself."""
    return words_of(one).replace("\n", " ")


def _certificate(one: Listed, line: Line, wording: Wording) -> Row:
    said = one.certificate
    cells = (
        number_link(one, ""),
        f"{said.revision}",
        wording.word(said.as_found),
        wording.word(said.as_left),
        day(said.issued, wording),
        link(line.page, said.line),
        parted(said.customer),
        parted(standing(one, line, wording)),
    )
    return Row(_words(said), cells, bold=not is_passing(one))


def _calibration(one: RanOut, by_number: Mapping[tuple[str, int], Listed], wording: Wording) -> Row:
    relied = Markup(", ").join(number_link(by_number[relying], "") for relying in one.certificates)
    renewed = wording.word("site_not_known") if one.renewed is None else day(one.renewed, wording)
    cells = (
        day(one.due, wording),
        day(one.calibrated, wording),
        parted(one.kind),
        parted(one.serial),
        renewed,
        relied,
    )
    return Row("", cells)
