"""The blocks of a certificate as HTML: every record of the content becomes the element that means it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import groupby
from typing import Any

from markupsafe import Markup, escape

from certgen.document.content import (
    Block,
    Cell,
    Column,
    Facts,
    Figure,
    Notice,
    Paragraphs,
    Parties,
    Section,
    Signatures,
    Statements,
    Table,
    Text,
    Verdicts,
)

Figures = Mapping[str, Sequence[Markup]]
_GROUP = Markup('<th scope="colgroup" colspan="{}">{}</th>')
_NO_GROUP = Markup('<td colspan="{}">{}</td>')
_ROW_HEAD = Markup('<th scope="row"{}>{}</th>')
_CELL = Markup("<td{}>{}</td>")
_STRONG = Markup("<td{}><strong>{}</strong></td>")


def block_html(block: Block, title: str, figures: Figures) -> Markup:
    """Return a block; `title` is that of its section, for what has no caption of its own."""
    if isinstance(block, Figure):
        return Markup("").join(figures[block.name])
    return _MAKERS[type(block)](block, title)


def section_html(section: Section, number: int, figures: Figures) -> Markup:
    """Return a section under its title, whose place is `#s` with the number."""
    # on a small screen the verdict stands before who and where
    ordered = sorted(section.blocks, key=lambda block: section.one_page and not isinstance(block, Verdicts))
    blocks = Markup("\n").join(block_html(block, section.title, figures) for block in ordered)
    return Markup('<section aria-labelledby="s{}">\n<h2 id="s{}">{}</h2>\n{}\n</section>').format(
        number, number, section.head, blocks
    )


def _paragraphs(paragraphs: Paragraphs, _title: str) -> Markup:
    """Points that follow each other make one list."""
    found = Markup("")
    for points, texts in groupby(paragraphs.texts, key=lambda text: text.startswith("- ")):
        if points:
            items = Markup("").join(Markup("<li>{}</li>").format(_marked(type(t)(t[2:]))) for t in texts)
            found += Markup("<ul>{}</ul>").format(items)
        else:
            found += Markup("").join(Markup("<p>{}</p>").format(_marked(text)) for text in texts)
    return found


def _marked(text: Text) -> Markup:
    """The mark-up of a template is kept, anything else is escaped."""
    return escape(text)


def _facts(facts: Facts, _title: str) -> Markup:
    """Each column a list of its own, so that what belongs together is read together."""
    lists = (_pairs(facts.pairs[start :: facts.columns]) for start in range(facts.columns))
    return Markup('<div class="facts">{}</div>').format(Markup("").join(lists))


def _pairs(pairs: Sequence[tuple[str, str]]) -> Markup:
    found = (Markup("<dt>{}</dt><dd>{}</dd>").format(*pair) for pair in pairs)
    return Markup("<dl>{}</dl>").format(Markup("").join(found))


def _verdicts(verdicts: Verdicts, _title: str) -> Markup:
    boxes = (
        Markup('<div class="verdict{}"><p><strong>{}</strong>: {}</p><p class="says">{}</p>{}</div>').format(
            " dashed" if box.dashed else "",
            box.title,
            box.verdict,
            box.sentence,
            Markup("").join(Markup("<p>{}</p>").format(text) for text in box.details),
        )
        for box in verdicts.boxes
    )
    return Markup('<div class="verdicts">{}</div>').format(Markup("").join(boxes))


def _notice(notice: Notice, title: str) -> Markup:
    head = Markup('<div class="verdict notice"><p><strong>{}</strong></p>').format(notice.title)
    return head + _paragraphs(Paragraphs(notice.texts), title) + Markup("</div>")


def _signatures(signatures: Signatures, _title: str) -> Markup:
    places = (Markup("<p>{}<br>{}<br>{}</p>").format(*place, signatures.date) for place in signatures.places)
    found = Markup('<div class="sign">{}</div>').format(Markup("").join(places))
    if signatures.verify is None:
        return found
    one = signatures.verify
    return found + Markup('<p>{}: <strong>{}</strong> {}</p><p class="trail">{}: {}</p>').format(
        one.label, one.command, one.text, one.digest_label, one.digest
    )


def _parties(parties: Parties, _title: str) -> Markup:
    cells = (
        Markup("<p>{}<br><strong>{}</strong>{}</p>").format(
            label, lines[0], Markup("").join(Markup("<br>{}").format(text) for text in lines[1:])
        )
        for label, lines in parties.columns
    )
    return Markup('<div class="parties">{}</div>').format(Markup("").join(cells))


def _statements(statements: Statements, _title: str) -> Markup:
    pairs = (
        Markup("<dt>{}</dt><dd>{}</dd>").format(label, _marked(text)) for label, text in statements.pairs
    )
    return (
        Markup('<dl class="says">{}</dl>').format(Markup("").join(pairs)) if statements.pairs else Markup("")
    )


def wide(label: str, inner: Markup) -> Markup:
    """Return what may be wider than a telephone in a group that scrolls, also by the keyboard."""
    opened = Markup('<div class="wide" role="group" aria-label="{}" tabindex="0">').format(label)
    return opened + inner + Markup("</div>")


def _table(table: Table, title: str) -> Markup:
    caption = Markup("<caption>{}</caption>").format(table.caption) if table.caption else Markup("")
    table = _without_strips(table)
    titles = dict(table.groups)
    span = Markup('<tr class="group"><th colspan="{}" scope="rowgroup">{}</th></tr>')
    rows = (
        (span.format(len(table.columns), titles[index]) if index in titles else Markup(""))
        + _row(table, index)
        for index in range(len(table.rows))
    )
    inner = Markup("<table>{}<thead>{}</thead><tbody>{}</tbody></table>").format(
        caption, _heads(table.columns), Markup("").join(rows)
    )
    texts = (text for text in (_sentence(table.aside), table.note) if text)
    note = Markup("").join(Markup('<p class="note">{}</p>').format(text) for text in texts)
    return wide(table.caption or title, inner) + note


def _sentence(text: str) -> str:
    """What stands beside a caption, as a sentence of its own."""
    return f"{text[:1].upper()}{text[1:]}." if text else ""


def _without_strips(table: Table) -> Table:
    """The table without what is only drawn: on a small screen the numbers say it."""
    kept = [index for index, column in enumerate(table.columns) if column.align != "strip"]
    return replace(
        table,
        columns=tuple(table.columns[index] for index in kept),
        rows=tuple(tuple(row[index] for index in kept) for row in table.rows),
        strong=frozenset((row, kept.index(column)) for row, column in table.strong if column in kept),
    )


def _heads(columns: Sequence[Column]) -> Markup:
    titles = Markup("").join(_head(column) for column in columns)
    if not any(column.group for column in columns):
        return Markup("<tr>{}</tr>").format(titles)
    groups = Markup("")
    for group, members in groupby(columns, key=lambda column: column.group):
        count = len(list(members))
        groups += (_GROUP if group else _NO_GROUP).format(count, group)
    return Markup("<tr>{}</tr><tr>{}</tr>").format(groups, titles)


def _head(column: Column) -> Markup:
    """A head without text is no head."""
    if not column.title:
        return Markup("<td></td>")
    unit = Markup("<br><small>{}</small>").format(column.unit) if column.shows_unit else Markup("")
    return Markup('<th scope="col"{}>{}{}</th>').format(_class(column), column.title, unit)


def _row(table: Table, index: int) -> Markup:
    first, *others = zip(table.rows[index], table.columns, strict=True)
    cells = Markup("").join(
        _cell(_STRONG if (index, place) in table.strong else _CELL, *pair)
        for place, pair in enumerate(others, 1)
    )
    bold = Markup(' class="bold"') if index in table.emphasis else Markup("")
    return Markup("<tr{}>{}{}</tr>").format(bold, _cell(_ROW_HEAD, *first), cells)


def _cell(form: Markup, cell: Cell, column: Column) -> Markup:
    text = cell if isinstance(cell, str) else ""
    return form.format(_class(column), Markup("<br>").join(text.split("\n")))


def _class(column: Column) -> Markup:
    return Markup(' class="n"') if column.align in {"decimal", "right"} else Markup("")


_MAKERS: Mapping[type, Callable[[Any, str], Markup]] = {
    Paragraphs: _paragraphs,
    Facts: _facts,
    Verdicts: _verdicts,
    Notice: _notice,
    Signatures: _signatures,
    Parties: _parties,
    Statements: _statements,
    Table: _table,
}
