"""The database under a register: SQLite in a folder, or PostgreSQL under its address.

Everything of a certificate, the PDF itself among it, is written in one transaction: what is not committed was
never there, and no file lies beside the database that could be without its row or a row without its file.
"""

import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Connection, Engine, Table, create_engine, inspect, make_url, select
from sqlalchemy.exc import ArgumentError, DBAPIError, InterfaceError, OperationalError
from sqlalchemy.pool import NullPool, Pool, StaticPool

from certgen.errors import RegisterBroken, RegisterRefused, WrongUsage
from certgen.register.migrations import (
    STEPS,
    find_by_entries,
    marked_old,
    migrate,
    refuse_to_write,
    steps_applied,
    steps_of_old,
)
from certgen.register.sqlite import FILE_NAME, begun, embedded, require_ours, require_writable, standing
from certgen.register.tables import ENTRIES, FILES, HEAD, KEPT

_ADDRESSES = ("postgresql://", "postgres://", "postgresql+psycopg://")
_DRIVER = "postgresql+psycopg"
_FORM = "postgresql://USER@HOST/DATABASE"
# greedy: a password with an @ in it must not be taken for one that ends there
_SECRETS = ((re.compile(r"(://[^:/@]*):.*@"), r"\1:***@"), (re.compile(r"(password=)[^&]*"), r"\1***"))
__all__ = ["FILE_NAME", "is_address", "opened", "reading", "upgraded", "writing"]

# of PostgreSQL: no right to do so; a server or a session that is only read
_MAY_NOT = ("42501", "25006")
_BACKUP = "It was changed or damaged: put a backup of it in its place."
_NOT_OURS = re.compile(r"no such (table|column|index)|table \S+ has no column")  # of SQLite
_ASK = "Ask who runs the database for the right to do this."


def is_address(where: str) -> bool:
    """Return whether `where` is the address of a database and not a folder."""
    return where.startswith(_ADDRESSES)


def shown(where: str) -> str:
    """Return a folder or an address as a message may name it: without its password."""
    for secret, plain in _SECRETS if "://" in where else ():
        where = secret.sub(plain, where)
    return where.replace(f"{_DRIVER}://", "postgresql://", 1)


def require_known(where: str) -> None:
    """Raise WrongUsage for an address of another kind, which would else be made as a folder."""
    if "://" in where and not is_address(where):
        raise WrongUsage(f"{shown(where)}: write {_FORM}, or name a folder; no other address is known.")


def server(where: str, pool: type[Pool] = NullPool) -> Engine:
    """Return the database under an address; WrongUsage where it is none."""
    try:
        if where.partition("?")[0].count("@") > 1:
            raise WrongUsage(f"{shown(where)}: in a name or a password write %40 for @.")
        return create_engine(make_url(where).set(drivername=_DRIVER), poolclass=pool)
    except (ArgumentError, ValueError):
        raise WrongUsage(f"{shown(where)}: this is no address of a database; write {_FORM}.") from None
    except ModuleNotFoundError:
        raise WrongUsage("PostgreSQL needs its driver: pip install 'certgen[register]'") from None


def opened(where: str, *, create: bool) -> Engine:
    """Return the database of a register; a missing one is made where `create`, which is to add to it.

    One of an earlier form is read as it is, and refused where it is to be added to.
    """
    require_known(where)
    with _faults(where):
        engine, steps = _found(where, create)
        if len(steps) == len(STEPS):
            with standing(engine), begun(engine, writes=False) as connection:
                _require_whole(where, connection)
            return engine
        if create and steps:
            raise refuse_to_write(shown(where))
        if not steps:  # an address under which nothing is yet
            with begun(engine, writes=True) as connection:
                migrate(connection)
            return engine
        old = marked_old(_engine(where, create, StaticPool), steps)
        with standing(old), begun(old, writes=False) as connection:
            _require_whole(where, connection, (ENTRIES, FILES, HEAD))
            find_by_entries(connection)
        return old


def upgraded(where: str) -> tuple[str, ...]:
    """Bring a register to today's form, whole or not at all; return the steps that this took."""
    require_known(where)
    with _faults(where):
        engine, steps = _found(where, create=False)
        require_writable(engine)
        if len(steps) < len(STEPS):
            with begun(engine, writes=True) as connection:
                migrate(connection)
    return tuple(STEPS)[len(steps) :]


def _found(where: str, create: bool) -> tuple[Engine, list[str]]:
    """The database and the steps of the register in it; WrongUsage where there is none and none is wanted."""
    engine = _engine(where, create, NullPool)
    with standing(engine), begun(engine, writes=False) as connection:
        steps = steps_applied(connection)
    if not is_address(where):
        require_ours(Path(where), len(steps))
    elif not steps and not create:
        raise WrongUsage(f"{shown(where)}: there is no register here.")
    return engine, steps


def _engine(where: str, create: bool, pool: type[Pool]) -> Engine:
    return server(where, pool) if is_address(where) else embedded(Path(where), create, pool)


def _require_whole(where: str, connection: Connection, tables: Iterable[Table] = (*KEPT, HEAD)) -> None:
    """Raise RegisterBroken where a table or the head is gone, needed for what is asked for or not."""
    there = inspect(connection)
    gone = [table.name for table in tables if not there.has_table(table.name)]
    if not gone and connection.execute(select(HEAD.c.count)).first() is None:
        gone = ["its head"]
    if gone:
        raise RegisterBroken(f"{shown(where)}: the register lacks {', '.join(gone)}. {_BACKUP}")


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A transaction that sees one state of the register, whatever others add meanwhile."""
    with _faults(_place(engine)), standing(engine), begun(engine, writes=False) as connection:
        yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A transaction that adds to the register, committed at its end; one of an earlier form is refused."""
    if steps_of_old(engine) is not None:
        raise refuse_to_write(shown(_place(engine)))
    require_writable(engine)
    with _faults(_place(engine)), begun(engine, writes=True) as connection:
        yield connection


def _place(engine: Engine) -> str:
    """The folder or the address, as it was named."""
    database = engine.url.database
    return str(Path(database).parent) if engine.dialect.name == "sqlite" and database else str(engine.url)


@contextmanager
def _faults(where: str) -> Iterator[None]:
    """Say what the database complains of; `where` never shows a password."""
    try:
        yield
    except (OperationalError, InterfaceError) as error:
        if _NOT_OURS.match(_first_line(error)):
            raise RegisterBroken(f"{shown(where)}: {_first_line(error)}. {_BACKUP}") from None
        raise RegisterRefused(f"{shown(where)}: {_first_line(error)}") from None
    except UnicodeEncodeError:
        raise WrongUsage("a text holds what is no letter; write it in UTF-8.") from None
    except DBAPIError as error:
        if getattr(error.orig, "sqlstate", None) in _MAY_NOT:
            raise RegisterRefused(f"{shown(where)}: {_first_line(error)}. {_ASK}") from None
        raise RegisterBroken(f"{shown(where)}: {_first_line(error)}. {_BACKUP}") from None


def _first_line(error: DBAPIError) -> str:
    return f"{error.orig}".strip().partition("\n")[0]
