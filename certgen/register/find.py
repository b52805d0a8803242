"""Finding certificates in a register: by line, customer, day of issue, verdict, instrument or any word."""

import json
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, or_, select

from certgen.register.database import reading
from certgen.register.entry import Json, key
from certgen.register.register import Register
from certgen.register.tables import CERTIFICATES, ENTRIES, INSTRUMENTS

_SHORT = (
    "sequence", "number", "revision", "issued", "finished", "line", "asset", "customer", "as_found",
    "as_left", "pdf_sha256",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is looked for; None asks for nothing. Days as YYYY-MM-DD, the first and the last one included.

    `line` is the name or the asset of a line, `instrument` a serial number, each in full; capitals do not
    count. `words` may stand anywhere in number, line, place, customer, order, contractor and instruments.
    """

    line: str | None = None
    customer: str | None = None
    since: str | None = None
    until: str | None = None
    verdict: str | None = None
    instrument: str | None = None
    words: str | None = None


@dataclass(frozen=True, slots=True)
class Short:
    """A certificate in one line of a list."""

    sequence: int
    number: str
    revision: int
    issued: str
    finished: str
    line: str
    asset: str
    customer: str
    as_found: str
    as_left: str
    pdf_sha256: str


def find(register: Register, wanted: Wanted) -> list[Short]:
    """Return the certificates that fit, in the order in which they were added."""
    query = select(*(CERTIFICATES.c[name] for name in _SHORT)).order_by(CERTIFICATES.c.sequence)
    with reading(register.engine) as connection:
        return [Short(*row) for row in connection.execute(_filtered(query, wanted))]


def bodies(register: Register, wanted: Wanted, last: int) -> list[Json]:
    """Return the entries of the certificates that fit, up to the entry `last`, in the order of adding."""
    query = select(ENTRIES.c.body).join(CERTIFICATES, ENTRIES.c.sequence == CERTIFICATES.c.sequence)
    query = query.where(ENTRIES.c.sequence <= last).order_by(ENTRIES.c.sequence)
    with reading(register.engine) as connection:
        return [json.loads(body) for body in connection.execute(_filtered(query, wanted)).scalars()]


def _filtered(query: Select[Any], wanted: Wanted) -> Select[Any]:
    conditions = _conditions(wanted)
    return query.where(and_(*conditions)) if conditions else query


def _conditions(wanted: Wanted) -> list[ColumnElement[bool]]:
    row = CERTIFICATES.c
    made = (
        (wanted.line, lambda text: or_(row.line_key == key(text), row.asset_key == key(text))),
        (wanted.customer, lambda text: row.customer_key == key(text)),
        (wanted.since, lambda day: row.issued >= day),
        (wanted.until, lambda day: row.issued <= day),
        (wanted.verdict, lambda verdict: row.as_left == verdict),
        (wanted.instrument, _used),
        (wanted.words, lambda text: row.words.contains(key(text), autoescape=True)),
    )
    return [condition(value) for value, condition in made if value is not None]


def _used(serial: str) -> ColumnElement[bool]:
    among = select(INSTRUMENTS.c.sequence).where(INSTRUMENTS.c.serial_key == key(serial))
    return CERTIFICATES.c.sequence.in_(among)
