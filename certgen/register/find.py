"""Finding certificates in a register: by line, customer, day of issue, verdict, instrument or any word."""

import json
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, or_, select

from certgen.register.database import reading
from certgen.register.entry import Json, key
from certgen.register.in_force import Issue, replacements
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
    `in_force` leaves out certificates that others of the register replace, whether these fit or not.
    """

    line: str | None = None
    customer: str | None = None
    since: str | None = None
    until: str | None = None
    verdict: str | None = None
    instrument: str | None = None
    words: str | None = None
    in_force: bool = False


@dataclass(frozen=True, slots=True)
class Short:
    """A certificate in one line of a list; `replaced_by` is None where it is in force."""

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
    replaced_by: str | None = None


def find(register: Register, wanted: Wanted) -> list[Short]:
    """Return the certificates that fit, in the order in which they were added."""
    query = select(*(CERTIFICATES.c[name] for name in _SHORT)).order_by(CERTIFICATES.c.sequence)
    with reading(register.engine) as connection:
        replaced = replacements(connection)
        rows = connection.execute(_filtered(query, wanted)).all()
    found = [Short(**row._mapping, replaced_by=_named(replaced.get(row.sequence))) for row in rows]
    return [one for one in found if not (wanted.in_force and one.replaced_by)]


def bodies(register: Register, wanted: Wanted, last: int) -> list[Json]:
    """Return the entries of the certificates that fit, up to the entry `last`, in the order of adding."""
    query = select(ENTRIES.c.sequence, ENTRIES.c.body)
    query = query.join(CERTIFICATES, ENTRIES.c.sequence == CERTIFICATES.c.sequence)
    query = query.where(ENTRIES.c.sequence <= last).order_by(ENTRIES.c.sequence)
    with reading(register.engine) as connection:
        left_out = replacements(connection, last) if wanted.in_force else {}
        rows = connection.execute(_filtered(query, wanted)).all()
    return [json.loads(row.body) for row in rows if row.sequence not in left_out]


def _named(issue: Issue | None) -> str | None:
    return None if issue is None else str(issue)


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
