"""Registers as earlier versions left them: `python -m tests.register.old` makes one in tests/old_registers.

A file is named after the last step it was made with, and never made anew: it is what a firm has on its disk.
The older ones hold a certificate and, beside it, others whose PDF is none: what nobody held against it then.
"""

import sys
from collections.abc import Iterable
from contextlib import closing
from itertools import islice
from pathlib import Path
from sqlite3 import connect
from tempfile import TemporaryDirectory

from sqlalchemy import Engine, text

from certgen.register import migrations
from certgen.register.database import FILE_NAME, is_address, server
from certgen.register.register import Register
from certgen.register.sqlite import _sqlite, begun
from tests.register.fakes import WHEN, small
from tests.register.records import real

FOLDER = Path(__file__).parent.parent / "old_registers"


# the tables of an old register in an order in which every reference finds what it names
TABLES = ("files", "entries", "certificates", "instruments", "reservations", "signatures")


def made_with(where: str, steps: int) -> None:
    """Make a register at `where` as a certgen left it that knew the first steps, with what `fill` adds."""
    engine = _engine(where)
    some = dict(islice(migrations.STEPS.items(), steps))
    with begun(engine, writes=True) as connection:
        migrations.migrate(connection, some)
    names = [name.replace(" ", "_") for name in some]
    file = next(FOLDER / f"{name}.sqlite" for name in reversed(names) if (FOLDER / f"{name}.sqlite").exists())
    _take_over(engine, file)


def _engine(where: str) -> Engine:
    if is_address(where):
        return server(where)
    Path(where).mkdir(parents=True, exist_ok=True)
    return _sqlite(Path(where) / FILE_NAME)


def _take_over(engine: Engine, file: Path) -> None:
    """Put the rows of a register in a file into tables of the same form."""
    with closing(connect(f"file:{file}?immutable=1", uri=True)) as old, begun(engine, writes=True) as new:
        there = {name for (name,) in old.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        for table in TABLES:
            if table in there:
                _put(new, table, old.execute(f"SELECT * FROM {table}"))
        for count, digest in old.execute("SELECT sequence, digest FROM entries ORDER BY sequence").fetchall():
            new.execute(text("UPDATE head SET count = :c, digest = :d"), {"c": count, "d": digest})


def _put(new: object, table: str, rows: Iterable[tuple[object, ...]]) -> None:
    names = [column[0] for column in rows.description]  # type: ignore[attr-defined]  # a cursor
    marks = ", ".join(f":{name}" for name in names)
    statement = text(f"INSERT INTO {table} ({', '.join(names)}) VALUES ({marks})")
    for row in rows:
        new.execute(statement, dict(zip(names, row, strict=True)))  # type: ignore[attr-defined]  # a connection


def fill(register: Register) -> None:
    """Add what every old register holds: a real certificate, two small ones, a number handed out."""
    register.add(real("tutorial"), WHEN)
    register.add(small("A-001"), WHEN)
    register.reserve("A-", WHEN)
    register.add(small("A-001", 1, supersedes="A-001, revision 0", reason="Order number"), WHEN)


if __name__ == "__main__":
    target = FOLDER / f"{list(migrations.STEPS)[-1].replace(' ', '_')}.sqlite"
    if target.exists():
        sys.exit(f"{target} is there, and is never made anew")
    with TemporaryDirectory() as folder:
        fill(Register.open(folder, create=True))
        target.write_bytes((Path(folder) / FILE_NAME).read_bytes())
