"""Tables without places to part words, for everything that breaks no lines itself."""

from dataclasses import replace

from certgen.certificate.content import Table
from certgen.certificate.wording import unhyphenated


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
