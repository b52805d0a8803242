"""What turns an old register into one of today, in named steps; and how one is read without being changed.

The statements name their columns: this step stays as it is when later ones add more.

A step is never changed once a register may have been made with it; a new one follows at the end. It is a list
of statements, and of functions where a statement could not say it.

Its entries say all there is to know; tables by which they are found are made from them for as long as the
register is open, in a place of its own that the database throws away afterwards.
"""

import json
from collections.abc import Callable, Collection, Iterator, Mapping
from types import MappingProxyType
from weakref import finalize

from sqlalchemy import Column, Connection, Engine, MetaData, Table, insert, inspect, select, text

from certgen.errors import RegisterBroken, RegisterRefused
from certgen.register.append_only_triggers import (
    GUARDED_LAST,
    file_guards,
    file_guards_before,
    file_preparations,
    guards,
    later_guards,
    preparations,
)
from certgen.register.entries import (
    GENESIS,
    Certificate,
    certificate_of,
    certificate_row,
    key,
    says_of_another,
)
from certgen.register.tables import DERIVED, ENTRIES, FILES, MIGRATIONS, PACKED, packed, put_rows, rows_of

_PORTION = 500
_FEW = 20  # files at a time: a register is larger than memory
_KEYS = ("line_key", "asset_key", "customer_key", "words")
_SET_KEYS = """UPDATE certificates SET line_key = :line_key, asset_key = :asset_key,
    customer_key = :customer_key, words = :words WHERE sequence = :sequence"""
_SET_SERIAL = "UPDATE instruments SET serial_key = :made WHERE serial = :serial"
_PUT_SAID = "INSERT INTO replacing (sequence, said) VALUES (:sequence, :said)"
_SET_FILE = "UPDATE files SET data = :data, form = :form WHERE sha256 = :sha256"
Statement = str | Callable[[Connection], None]
Steps = Mapping[str, Callable[[str], list[Statement]]]
_LOCK = 727_240_031  # any number that nothing else in the database uses
STEPS_OF_OLD = "steps_of_old"
_READ_AT_ONCE = 500
_UPGRADE = (
    "was made by an earlier certgen and is only read as it is. To add to it, bring it to today's form: "
    "certgen register upgrade --register"
)


def find_anew(connection: Connection) -> None:
    """Make all keys anew, those of certificates from their entries, and what says that it replaces one."""
    for portion in _certificates(connection):
        keys, said = [], []
        for sequence, one, digests in portion:
            row = certificate_row(sequence, one, digests)
            keys.append({name: row[name] for name in (*_KEYS, "sequence")})
            said += [{"sequence": sequence, "said": one.supersedes}] if says_of_another(one) else []
        connection.execute(text(_SET_KEYS), keys)
        if said:
            connection.execute(text(_PUT_SAID), said)
    serials = connection.execute(text("SELECT DISTINCT serial FROM instruments")).scalars().all()
    if serials:
        connection.execute(text(_SET_SERIAL), [{"serial": one, "made": key(one)} for one in serials])


def _certificates(connection: Connection) -> Iterator[list[tuple[int, Certificate, dict[str, str]]]]:
    query = """SELECT e.sequence, e.body FROM entries e JOIN certificates c ON c.sequence = e.sequence
        WHERE e.sequence > :after ORDER BY e.sequence LIMIT :most"""
    after = 0
    while rows := connection.execute(text(query), {"after": after, "most": _PORTION}).all():
        bodies = [(int(sequence), json.loads(body)) for sequence, body in rows]
        yield [(sequence, certificate_of(body), body["sha256"]) for sequence, body in bodies]
        after = bodies[-1][0]


def pack_texts(connection: Connection) -> None:
    """Pack the surveys and results of all certificates where that makes them smaller."""
    query = "SELECT survey_sha256 FROM certificates UNION SELECT results_sha256 FROM certificates"
    digests = connection.execute(text(query)).scalars().all()
    for at in range(0, len(digests), _FEW):
        names = {f"d{place}": digest for place, digest in enumerate(digests[at : at + _FEW])}
        marks = ", ".join(f":{name}" for name in names)
        some = f"SELECT sha256, data FROM files WHERE form = 'plain' AND sha256 IN ({marks})"  # noqa: S608
        made = [
            {"sha256": digest, "data": stored, "form": form}
            for digest, data in connection.execute(text(some), names).all()
            for form, stored in (packed(bytes(data)),)
            if form == PACKED
        ]
        if made:
            connection.execute(text(_SET_FILE), made)


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
        columns = (
            Column(column.name, column.type, primary_key=column.primary_key) for column in table.columns
        )
        shadow = Table(table.name, MetaData(), *columns, prefixes=["TEMPORARY"])
        shadow.create(connection)
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


def _portions(connection: Connection) -> Iterator[list[tuple[int, str]]]:
    query, after = select(ENTRIES.c.sequence, ENTRIES.c.body).order_by(ENTRIES.c.sequence), None
    while True:
        some = query if after is None else query.where(ENTRIES.c.sequence > after)
        rows = [(sequence, body) for sequence, body in connection.execute(some.limit(_READ_AT_ONCE))]
        if not rows:
            return
        yield rows
        after = rows[-1][0]
