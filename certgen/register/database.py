"""The database under a register: SQLite in a folder, or PostgreSQL under its address.

Everything of a certificate, the PDF itself among it, is written in one transaction: what is not committed was
never there, and no file lies beside the database that could be without its row or a row without its file.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, InterfaceError, OperationalError
from sqlalchemy.pool import NullPool

from certgen.errors import RegisterBroken, RegisterRefused, WrongUsage
from certgen.register.migrations import STEPS, migrate, steps_applied

FILE_NAME = "register.sqlite"
_ADDRESSES = ("postgresql://", "postgres://", "postgresql+psycopg://")
_DRIVER = "postgresql+psycopg"
# in this order: the wait for others comes first, or switching to the log ahead would not wait
_PRAGMAS = ("busy_timeout = 60000", "foreign_keys = ON", "recursive_triggers = ON", "synchronous = FULL")


def is_address(where: str) -> bool:
    """Return whether `where` is the address of a database and not a folder."""
    return where.startswith(_ADDRESSES)


def opened(where: str, *, create: bool) -> Engine:
    """Return the database of a register, brought to today's form; a missing one is made where `create`."""
    with _faults(where):
        engine = _server(where) if is_address(where) else _embedded(Path(where), create)
        with _begun(engine, writes=False) as connection:
            applied = steps_applied(connection)
        if applied == 0 and not create:
            raise WrongUsage(f"{_shown(where)}: there is no register here.")
        if applied < len(STEPS):
            with _begun(engine, writes=True) as connection:
                migrate(connection)
    return engine


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A transaction that sees one state of the register, whatever others add meanwhile."""
    with _faults(str(engine.url)), _begun(engine, writes=False) as connection:
        yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A transaction that adds to the register, committed at its end."""
    with _faults(str(engine.url)), _begun(engine, writes=True) as connection:
        yield connection


@contextmanager
def _begun(engine: Engine, *, writes: bool) -> Iterator[Connection]:
    options: dict[str, Any] = {"writes": writes}
    if not writes and engine.dialect.name != "sqlite":
        options["isolation_level"] = "REPEATABLE READ"
    with engine.connect().execution_options(**options) as connection, connection.begin():
        yield connection


@contextmanager
def _faults(where: str) -> Iterator[None]:
    """Say what the database complains of; `where` never shows a password."""
    try:
        yield
    except (OperationalError, InterfaceError) as error:
        raise RegisterRefused(f"{_shown(where)}: {_first_line(error)}") from None
    except UnicodeEncodeError:
        raise WrongUsage("a text holds what is no letter; write it in UTF-8.") from None
    except DBAPIError as error:
        raise RegisterBroken(f"{_shown(where)}: {_first_line(error)}") from None


def _first_line(error: DBAPIError) -> str:
    return f"{error.orig}".strip().partition("\n")[0]


def _shown(where: str) -> str:
    return make_url(where).render_as_string(hide_password=True) if "://" in where else where


def _server(where: str) -> Engine:
    try:
        url = make_url(where).set(drivername=_DRIVER)
        return create_engine(url, poolclass=NullPool)
    except (ArgumentError, ValueError):
        raise WrongUsage("this is not the address of a PostgreSQL database") from None
    except ModuleNotFoundError:
        raise WrongUsage("PostgreSQL needs its driver: pip install 'certgen[register]'") from None


def _embedded(folder: Path, create: bool) -> Engine:
    file = folder / FILE_NAME
    if not file.is_file():
        if not create:
            raise WrongUsage(f"{folder}: there is no register here.")
        _make(folder)
    return _sqlite(file)


def _make(folder: Path) -> None:
    """Make the file beside, whole, and give it its name last: nobody ever opens half a register."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with TemporaryDirectory(prefix=".new-", dir=folder) as beside:
            made = Path(beside) / FILE_NAME
            with _begun(_sqlite(made), writes=True) as connection:
                migrate(connection)
            _name(made, folder / FILE_NAME)
    except OSError as error:
        raise RegisterRefused(f"{folder}: cannot be written: {error.strerror or error}.") from None


def _name(made: Path, target: Path) -> None:
    try:
        target.hardlink_to(made)
    except FileExistsError:  # somebody else was quicker, and theirs is as good
        return
    except OSError:  # a file system without links
        made.rename(target)
    _keep_names(target.parent)


def _keep_names(folder: Path) -> None:
    """Have the disk keep the names in a folder; systems that cannot open one keep them anyway."""
    if os.name == "posix":
        opened_folder = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(opened_folder)
        finally:
            os.close(opened_folder)


def _sqlite(file: Path) -> Engine:
    url = URL.create("sqlite", database=str(file))
    engine = create_engine(url, poolclass=NullPool, connect_args={"timeout": 60})
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def _prepare(connection: Any, _record: object) -> None:
    """Of every connection; the driver's own handling of transactions is switched off."""
    connection.isolation_level = None
    for pragma in _PRAGMAS:
        connection.execute(f"PRAGMA {pragma}")
    if connection.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
        connection.execute("PRAGMA journal_mode = WAL")


def _begin(connection: Connection) -> None:
    """A writer waits at its beginning: it reads the end of the register and adds to exactly that."""
    writes = connection.get_execution_options().get("writes")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
