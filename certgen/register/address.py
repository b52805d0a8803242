"""The address of a register that stands in a PostgreSQL database, and how a message names it."""

import re

from sqlalchemy import URL, Engine, create_engine, make_url
from sqlalchemy.exc import ArgumentError
from sqlalchemy.pool import NullPool, Pool

from certgen.errors import WrongUsage

_ADDRESSES = ("postgresql://", "postgres://", "postgresql+psycopg://")
_DRIVER = "postgresql+psycopg"
_FORM = "postgresql://USER@HOST/DATABASE"
# greedy: a password with an @ in it must not be taken for one that ends there
_SECRETS = ((re.compile(r"(://[^:/@]*):.*@"), r"\1:***@"), (re.compile(r"(password=)[^&]*"), r"\1***"))


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
        return create_engine(_url(where), poolclass=pool)
    except (ArgumentError, ValueError):
        raise WrongUsage(f"{shown(where)}: this is no address of a database; write {_FORM}.") from None
    except ModuleNotFoundError:
        raise WrongUsage("PostgreSQL needs its driver: pip install 'certgen[register]'") from None


def _url(where: str) -> URL:
    if where.partition("?")[0].count("@") > 1:
        raise WrongUsage(f"{shown(where)}: in a name or a password write %40 for @.")
    return make_url(where).set(drivername=_DRIVER)
