"""A register of an earlier certgen, read without being changed.

Its entries say all there is to know; tables by which they are found are made from them for as long as the
register is open, in a place of its own that the database throws away afterwards.
"""

import json
from collections.abc import Collection, Iterator
from weakref import finalize

from sqlalchemy import Column, Connection, Engine, MetaData, Table, inspect, select, text

from certgen.errors import RegisterBroken, RegisterRefused
from certgen.register.derived import put_rows, rows_of
from certgen.register.tables import DERIVED, ENTRIES, FILES

STEPS_OF_OLD = "steps_of_old"
_PORTION = 500
_UPGRADE = (
    "was made by an earlier certgen and is only read as it is. To add to it, bring it to today's form: "
    "certgen register upgrade --register"
)


def refuse_to_write(where: str) -> RegisterRefused:
    """Return the error of who would write into a register of an earlier form."""
    return RegisterRefused(f"{where}: {_UPGRADE} {where}")


def steps_of_old(engine: Engine) -> tuple[str, ...] | None:
    """Return the steps that an older register went through; None for one of today's form."""
    found: tuple[str, ...] | None = engine.get_execution_options().get(STEPS_OF_OLD)
    return found


def marked_old(engine: Engine, steps: Collection[str]) -> Engine:
    """Return the same database as one of an older register.

    It keeps its one connection (StaticPool), which is closed when nobody has the register any more.
    """
    marked = engine.execution_options(**{STEPS_OF_OLD: tuple(steps)})
    finalize(marked, marked.pool.dispose)
    return marked


def find_by_entries(connection: Connection) -> None:
    """Make the tables by which entries are found, temporary ones that stand before those of the register.

    RegisterBroken where an entry cannot be read.
    """
    for table in DERIVED:
        _shadow(table).create(connection)
    if "form" not in {column["name"] for column in inspect(connection).get_columns(FILES.name)}:
        real = (
            "main"
            if connection.dialect.name == "sqlite"
            else connection.execute(text("SELECT current_schema()")).scalar()
        )
        plain = f"SELECT sha256, data, 'plain' AS form FROM {real}.files"  # noqa: S608  # a schema's own name
        connection.execute(text(f"CREATE TEMPORARY VIEW files AS {plain}"))
    try:
        for portion in _portions(connection):
            put_rows(connection, (rows_of(sequence, json.loads(body)) for sequence, body in portion))
    except (ValueError, KeyError, TypeError, AttributeError):
        raise RegisterBroken(
            "an entry of the register cannot be read. Put a backup of it in its place."
        ) from None


def _shadow(table: Table) -> Table:
    columns = (Column(column.name, column.type, primary_key=column.primary_key) for column in table.columns)
    return Table(table.name, MetaData(), *columns, prefixes=["TEMPORARY"])


def _portions(connection: Connection) -> Iterator[list[tuple[int, str]]]:
    query, after = select(ENTRIES.c.sequence, ENTRIES.c.body).order_by(ENTRIES.c.sequence), None
    while True:
        some = query if after is None else query.where(ENTRIES.c.sequence > after)
        rows = [(sequence, body) for sequence, body in connection.execute(some.limit(_PORTION))]
        if not rows:
            return
        yield rows
        after = rows[-1][0]
