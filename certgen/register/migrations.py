"""What turns an old register into one of today: named steps, each applied once, all in one transaction.

A step is never changed once a register may have been made with it; a new one follows at the end. It is a list
of statements, and of functions where a statement could not say it.
"""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from sqlalchemy import Connection, insert, inspect, select, text

from certgen.errors import RegisterBroken, RegisterRefused
from certgen.register.chain import GENESIS
from certgen.register.guards import (
    GUARDED_LAST,
    file_guards,
    file_guards_before,
    file_preparations,
    guards,
    later_guards,
    preparations,
)
from certgen.register.rebuild import find_anew, pack_texts
from certgen.register.tables import MIGRATIONS

Statement = str | Callable[[Connection], None]
Steps = Mapping[str, Callable[[str], list[Statement]]]
_LOCK = 727_240_031  # any number that nothing else in the database uses


def _first_tables(dialect: str) -> list[Statement]:
    whole, blob = ("INTEGER", "BLOB") if dialect == "sqlite" else ("BIGINT", "BYTEA")
    file = "TEXT NOT NULL REFERENCES files"
    return [
        f"CREATE TABLE files (sha256 TEXT PRIMARY KEY, data {blob} NOT NULL)",
        f"""CREATE TABLE entries (sequence {whole} PRIMARY KEY, previous TEXT NOT NULL UNIQUE,
            body TEXT NOT NULL, digest TEXT NOT NULL UNIQUE)""",
        f"""CREATE TABLE head (one INTEGER PRIMARY KEY CHECK (one = 1), count {whole} NOT NULL,
            digest TEXT NOT NULL)""",
        f"INSERT INTO head VALUES (1, 0, '{GENESIS}')",  # noqa: S608  # a text of ours
        f"""CREATE TABLE certificates (sequence {whole} PRIMARY KEY REFERENCES entries,
            number TEXT NOT NULL, revision {whole} NOT NULL, prefix TEXT NOT NULL, value {whole},
            issued TEXT NOT NULL, started TEXT NOT NULL, finished TEXT NOT NULL,
            line TEXT NOT NULL, asset TEXT NOT NULL, customer TEXT NOT NULL,
            as_found TEXT NOT NULL, as_left TEXT NOT NULL,
            line_key TEXT NOT NULL, asset_key TEXT NOT NULL, customer_key TEXT NOT NULL, words TEXT NOT NULL,
            pdf_sha256 {file}, survey_sha256 {file}, results_sha256 {file}, UNIQUE (number, revision))""",
        f"""CREATE TABLE instruments (sequence {whole} NOT NULL REFERENCES certificates,
            place INTEGER NOT NULL, kind TEXT NOT NULL, serial TEXT NOT NULL, serial_key TEXT NOT NULL,
            calibrated TEXT NOT NULL, due TEXT NOT NULL, traceable_to TEXT NOT NULL,
            PRIMARY KEY (sequence, place))""",
        f"""CREATE TABLE reservations (sequence {whole} PRIMARY KEY REFERENCES entries,
            number TEXT NOT NULL UNIQUE, prefix TEXT NOT NULL, value {whole} NOT NULL)""",
    ]


def _find_quickly(_dialect: str) -> list[Statement]:
    found = {
        "certificates": ("line_key", "asset_key", "customer_key", "issued", "as_left", "prefix, value"),
        "instruments": ("serial_key",),
        "reservations": ("prefix, value",),
    }
    return [
        f"CREATE INDEX {table}_by_{columns.replace(', ', '_')} ON {table} ({columns})"
        for table, each in found.items()
        for columns in each
    ]


def _only_add(dialect: str) -> list[Statement]:
    return [*preparations(dialect), *guards(dialect).values()]


def _sign_afterwards(dialect: str) -> list[Statement]:
    whole = "INTEGER" if dialect == "sqlite" else "BIGINT"
    return [
        f"""CREATE TABLE signatures (sequence {whole} PRIMARY KEY REFERENCES entries,
            certificate {whole} NOT NULL REFERENCES certificates,
            pdf_sha256 TEXT NOT NULL UNIQUE REFERENCES files)""",
        "CREATE INDEX signatures_by_certificate ON signatures (certificate)",
        *later_guards(dialect).values(),
    ]


def _mark_and_pack(dialect: str) -> list[Statement]:
    """What later entries say of certificates; keys without accents; surveys and results packed."""
    whole = "INTEGER" if dialect == "sqlite" else "BIGINT"
    plain, event = dialect == "sqlite", "update" if dialect == "sqlite" else "update_or_delete"
    again = [f"guard_{table}_{event}" for table in ("certificates", "instruments")]
    on = {
        name: "" if plain else f" ON {name.split('_')[1]}" for name in (*again, *file_guards_before(dialect))
    }
    return [
        "ALTER TABLE files ADD COLUMN form TEXT NOT NULL DEFAULT 'plain'",
        f"""CREATE TABLE replacing (sequence {whole} PRIMARY KEY REFERENCES certificates,
            said TEXT NOT NULL)""",
        f"""CREATE TABLE marks (sequence {whole} NOT NULL REFERENCES entries,
            certificate {whole} NOT NULL REFERENCES certificates, kind TEXT NOT NULL,
            PRIMARY KEY (sequence, certificate))""",
        f"""CREATE TABLE removed (sha256 TEXT PRIMARY KEY REFERENCES files,
            sequence {whole} NOT NULL REFERENCES entries)""",
        "CREATE INDEX marks_by_certificate ON marks (certificate)",
        """CREATE INDEX certificates_by_visit ON certificates
            (customer_key, asset_key, finished, issued, revision, sequence)""",
        "CREATE INDEX certificates_by_revision ON certificates (number) WHERE revision > 0",
        *(f"DROP TRIGGER {name}{of}" for name, of in on.items()),
        find_anew,
        pack_texts,
        *(guards(dialect)[name] for name in again),
        *file_preparations(dialect),
        *file_guards(dialect).values(),
        *later_guards(dialect, GUARDED_LAST).values(),
    ]


STEPS: Steps = MappingProxyType(
    {
        "first tables": _first_tables,
        "find quickly": _find_quickly,
        "only add": _only_add,
        "sign afterwards": _sign_afterwards,
        "mark and pack": _mark_and_pack,
    }
)


def migrate(connection: Connection, steps: Steps = STEPS) -> None:
    """Apply the steps that are missing, within the transaction of the caller."""
    dialect = connection.dialect.name
    if dialect != "sqlite":  # where a writer does not keep out all others
        connection.execute(text(f"SELECT pg_advisory_xact_lock({_LOCK})"))
    connection.execute(
        text("CREATE TABLE IF NOT EXISTS migrations (place INTEGER PRIMARY KEY, name TEXT NOT NULL)")
    )
    for place in range(len(steps_applied(connection)), len(steps)):
        name = list(steps)[place]
        for statement in steps[name](dialect):
            if isinstance(statement, str):
                connection.execute(text(statement))
            else:
                statement(connection)
        connection.execute(insert(MIGRATIONS).values(place=place, name=name))


def steps_applied(connection: Connection) -> list[str]:
    """Return the steps that were applied, none where no register is; one of a newer certgen is refused."""
    if not inspect(connection).has_table("migrations"):
        return []
    rows = connection.execute(select(MIGRATIONS.c.name).order_by(MIGRATIONS.c.place))
    names, known = [name for (name,) in rows], list(STEPS)
    if names[: len(known)] == known and len(names) > len(known):
        newer = ", ".join(names[len(known) :])
        raise RegisterRefused(
            f"the register was made by a newer certgen, in steps that this one does not know ({newer}). "
            "Nothing was read or changed. Use a certgen as new as the one that made it."
        )
    if names != known[: len(names)]:
        raise RegisterBroken(
            f"the register was made in steps that no certgen takes in this order ({', '.join(names)})."
        )
    return names
