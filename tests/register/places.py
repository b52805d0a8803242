"""Places for a register: a folder, or a schema of its own in the PostgreSQL of the tests."""

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from sqlalchemy import create_engine, text

POSTGRES = os.environ.get("CERTGEN_TEST_POSTGRES")
WITHOUT = "CERTGEN_TEST_POSTGRES names no PostgreSQL database"


@contextmanager
def schema() -> Iterator[str]:
    """An address under which a register of its own is kept, gone afterwards."""
    if POSTGRES is None:
        pytest.skip(WITHOUT)
    name = f"register_{secrets.token_hex(6)}"
    engine = create_engine(POSTGRES.replace("postgresql://", "postgresql+psycopg://"))
    with engine.begin() as connection:
        connection.execute(text(f"CREATE SCHEMA {name}"))
    try:
        yield f"{POSTGRES}{'&' if '?' in POSTGRES else '?'}options=-csearch_path%3D{name}"
    finally:
        with engine.begin() as connection:
            connection.execute(text(f"DROP SCHEMA {name} CASCADE"))
        engine.dispose()
