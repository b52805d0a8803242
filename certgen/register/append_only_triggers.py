"""What makes a register append-only inside the database: triggers that refuse to change or remove a row.

They stop mistakes, and programs that mean well. Whoever owns the database can drop them; that is what the
chain and its audit are for, and a missing trigger is one of the things the audit reports. One change is let
through: the bytes of a file that an entry has disposed of go, and its digest stays.
"""

from collections.abc import Collection, Mapping

from sqlalchemy import Connection, text

# what is kept, with the key under which nothing may be put a second time
GUARDED = {
    "migrations": "place",
    "files": "sha256",
    "entries": "sequence",
    "certificates": "sequence",
    "instruments": "sequence, place",
    "reservations": "sequence",
}
# what later steps of the migrations have added
GUARDED_LATER = {"signatures": "sequence"}
GUARDED_LAST = {"replacing": "sequence", "marks": "sequence, certificate", "removed": "sha256"}
_REFUSED = "a register is only ever added to"
_HEAD_MOVES_ON = "NEW.one <> OLD.one OR NEW.count <> OLD.count + 1"
_ALL_OF_SQLITE = """
    SELECT type, name FROM main.sqlite_master WHERE type <> 'index' AND name NOT GLOB 'sqlite_*'
"""
_ALL_OF_POSTGRESQL = """
    SELECT 'trigger', t.tgname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid
    WHERE c.relnamespace = current_schema()::regnamespace AND NOT t.tgisinternal
    UNION ALL SELECT 'rule', r.rulename FROM pg_rewrite r JOIN pg_class c ON c.oid = r.ev_class
    WHERE c.relnamespace = current_schema()::regnamespace AND c.relkind <> 'v'
    UNION ALL SELECT CASE c.relkind WHEN 'r' THEN 'table' ELSE 'view' END, c.relname FROM pg_class c
    WHERE c.relnamespace = current_schema()::regnamespace AND c.relkind IN ('r', 'v', 'm', 'f', 'p')
"""
_BODY = f" BEGIN RAISE EXCEPTION '{_REFUSED}'; END "
_FUNCTION = f"CREATE FUNCTION register_refuse() RETURNS trigger LANGUAGE plpgsql AS $${_BODY}$$"
_DISPOSED = (
    "NEW.sha256 = OLD.sha256 AND NEW.form = 'removed' AND length(NEW.data) = 0"
    " AND EXISTS (SELECT 1 FROM removed WHERE sha256 = OLD.sha256)"
)
_BODY_OF_FILES = f" BEGIN IF {_DISPOSED} THEN RETURN NEW; END IF; RAISE EXCEPTION '{_REFUSED}'; END "
_FUNCTION_OF_FILES = (
    f"CREATE FUNCTION register_keep_files() RETURNS trigger LANGUAGE plpgsql AS $${_BODY_OF_FILES}$$"
)


def guards(dialect: str) -> dict[str, str]:
    """Return the statements that create the triggers of the first tables, by their names."""
    return _sqlite() if dialect == "sqlite" else _postgresql()


def later_guards(dialect: str, tables: Mapping[str, str] = GUARDED_LATER) -> dict[str, str]:
    """Return the statements that create the triggers of tables that came later, by their names."""
    made = _sqlite_table if dialect == "sqlite" else _postgresql_table
    found: dict[str, str] = {}
    for table, key in tables.items():
        found |= made(table, key)
    return found


def file_guards(dialect: str) -> dict[str, str]:
    """Return the statements that create the triggers which let the bytes go that were disposed of."""
    if dialect == "sqlite":
        return _sqlite_trigger("files", "UPDATE", f"WHEN NOT ({_DISPOSED}) ")
    removed = _trigger("files", "DELETE", "FOR EACH ROW")
    return {**removed, **_trigger("files", "UPDATE", "FOR EACH ROW", "register_keep_files")}


def file_guards_before(dialect: str) -> tuple[str, ...]:
    """Return the names of the triggers that the `file_guards` take the place of."""
    return ("guard_files_update",) if dialect == "sqlite" else ("guard_files_update_or_delete",)


def preparations(dialect: str) -> tuple[str, ...]:
    """Return the statements the triggers need before them."""
    return () if dialect == "sqlite" else (_FUNCTION,)


def file_preparations(dialect: str) -> tuple[str, ...]:
    """Return the statements the `file_guards` need before them."""
    return () if dialect == "sqlite" else (_FUNCTION_OF_FILES,)


def missing_guards(connection: Connection, steps: Collection[str]) -> list[str]:
    """Return the names of the triggers that are not there, not enabled, or not as they were made.

    `steps` names the steps of the migrations that the register went through.
    """
    dialect = connection.dialect.name
    wanted = _wanted(dialect, steps)
    if dialect == "sqlite":
        rows = connection.execute(text("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"))
        there = dict(tuple(row) for row in rows)
        return sorted(name for name, made in wanted.items() if there.get(name) != made)
    there = _there(connection)
    bodies = {name: _BODY_OF_FILES if "keep_files" in made else _BODY for name, made in wanted.items()}
    return sorted(name for name, body in bodies.items() if there.get(name) != body)


def strange_objects(connection: Connection, steps: Collection[str], tables: Collection[str]) -> list[str]:
    """Return what else stands in the database beside the `tables`: tables, views and triggers.

    A trigger of somebody's own can swallow what is added, and a view can stand for a table.
    """
    wanted = _wanted(connection.dialect.name, steps)
    sqlite = connection.dialect.name == "sqlite"
    rows = connection.execute(text(_ALL_OF_SQLITE if sqlite else _ALL_OF_POSTGRESQL))
    known = {"trigger": wanted.keys(), "table": tables}
    return sorted(f"{kind} {name}" for kind, name in rows if name not in known.get(kind, ()))


def _wanted(dialect: str, steps: Collection[str]) -> dict[str, str]:
    wanted = guards(dialect) if "only add" in steps else {}
    if "sign afterwards" in steps:
        wanted |= later_guards(dialect)
    if "mark and pack" in steps:
        kept = {name: made for name, made in wanted.items() if name not in file_guards_before(dialect)}
        wanted = {**kept, **later_guards(dialect, GUARDED_LAST), **file_guards(dialect)}
    return wanted


def _sqlite() -> dict[str, str]:
    found: dict[str, str] = {}
    for table, key in GUARDED.items():
        found |= _sqlite_table(table, key)
    found |= _sqlite_trigger("head", "UPDATE", f"WHEN {_HEAD_MOVES_ON} ")
    found |= _sqlite_trigger("head", "DELETE", "")
    return found | _sqlite_trigger("head", "INSERT", "")


def _sqlite_table(table: str, key: str) -> dict[str, str]:
    # INSERT OR REPLACE removes a row without a DELETE
    inserts = _sqlite_trigger(table, "INSERT", _is_there(table, key))
    return {**_sqlite_trigger(table, "UPDATE", ""), **_sqlite_trigger(table, "DELETE", ""), **inserts}


def _is_there(table: str, key: str) -> str:
    same = " AND ".join(f"{column} = NEW.{column}" for column in key.split(", "))
    return f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {same}) "  # noqa: S608  # names of ours


def _sqlite_trigger(table: str, event: str, when: str) -> dict[str, str]:
    name = f"guard_{table}_{event.lower()}"
    body = f"BEGIN SELECT RAISE(ABORT, '{_REFUSED}'); END"
    return {name: f"CREATE TRIGGER {name} BEFORE {event} ON {table} {when}{body}"}


def _postgresql() -> dict[str, str]:
    found: dict[str, str] = {}
    for table in GUARDED:
        found |= _trigger(table, "UPDATE OR DELETE", "FOR EACH ROW")
    found |= _trigger("head", "UPDATE", f"FOR EACH ROW WHEN ({_HEAD_MOVES_ON})")
    found |= _trigger("head", "DELETE OR INSERT", "FOR EACH ROW")
    for table in (*GUARDED, "head"):
        found |= _trigger(table, "TRUNCATE", "FOR EACH STATEMENT")
    return found


def _postgresql_table(table: str, _key: str) -> dict[str, str]:
    changes = _trigger(table, "UPDATE OR DELETE", "FOR EACH ROW")
    return {**changes, **_trigger(table, "TRUNCATE", "FOR EACH STATEMENT")}


def _trigger(table: str, event: str, how: str, function: str = "register_refuse") -> dict[str, str]:
    name = f"guard_{table}_{event.lower().replace(' ', '_')}"
    made = f"CREATE TRIGGER {name} BEFORE {event} ON {table} {how} EXECUTE FUNCTION {function}()"
    return {name: made}


def _there(connection: Connection) -> dict[str, str]:
    query = """SELECT t.tgname, f.prosrc FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid
        JOIN pg_proc f ON f.oid = t.tgfoid
        WHERE c.relnamespace = current_schema()::regnamespace AND t.tgenabled = 'O' AND NOT t.tgisinternal"""
    return dict(tuple(row) for row in connection.execute(text(query)))
