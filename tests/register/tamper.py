"""Changing a register as its owner could: guards out of the way, and put back afterwards."""

import sqlite3
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

import psycopg
from sqlalchemy import make_url

from certgen.register.database import FILE_NAME, is_address


def tamper(where: str, statements: Sequence[str]) -> None:
    """Run statements against a register with no guard in force."""
    if is_address(where):
        _server(where, statements)
    else:
        _embedded(Path(where) / FILE_NAME, statements)


def _server(where: str, statements: Sequence[str]) -> None:
    plain = make_url(where).render_as_string(hide_password=False)
    with psycopg.connect(plain) as connection:
        connection.execute("SET session_replication_role = replica")
        for statement in statements:
            connection.execute(statement.encode())


def _embedded(file: Path, statements: Sequence[str]) -> None:
    connection = sqlite3.connect(file, isolation_level=None)
    guards = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
    for name, _ in guards:
        connection.execute(f"DROP TRIGGER {name}")
    for statement in statements:
        connection.execute(statement)
    for _, made in guards:
        with suppress(sqlite3.OperationalError):  # of a table that is no longer there
            connection.execute(made)
    connection.close()
