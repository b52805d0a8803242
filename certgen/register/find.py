"""Finding certificates in a register: by line, customer, day of issue, verdict, instrument or any word."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, Select, Table, and_, func, or_, select

from certgen.register.database import reading
from certgen.register.entries import DISPOSED, FILE_NAMES, NOTE, PDF, WITHDRAWN, Json, digest_of, key, said_of
from certgen.register.in_force import Issue, latest_of, replacements
from certgen.register.register import Register
from certgen.register.tables import CERTIFICATES, ENTRIES, INSTRUMENTS, MARKS, SIGNATURES

_ALL = 2**62
_FEW = 500  # certificates; for more of them it is quicker to look at all
_SHORT = (
    "sequence", "number", "revision", "issued", "finished", "line", "asset", "customer", "as_found",
    "as_left", "pdf_sha256",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is looked for; None asks for nothing. Days as YYYY-MM-DD, the first and the last one included.

    `line` is the name or the asset of a line, `instrument` a serial number, each in full; capitals do not
    count. `words` may stand anywhere in number, line, place, customer, order, contractor and instruments.
    `in_force` leaves out certificates that others of the register replace, whether these fit or not, and
    those that were withdrawn; `latest` all but the latest of every line. Accents do not count either.
    `offset` is how many that fit are left out before, `limit` how many are wanted at most.
    """

    line: str | None = None
    customer: str | None = None
    since: str | None = None
    until: str | None = None
    verdict: str | None = None
    instrument: str | None = None
    words: str | None = None
    in_force: bool = False
    latest: bool = False
    limit: int | None = None
    offset: int = 0


@dataclass(frozen=True, slots=True)
class Short:
    """A certificate in one line of a list; `replaced_by` is None where nothing replaces it.

    `latest`: it is that of the latest visit to its line of those that count. `withdrawn`, `disposed`: a later
    entry says so of it; `notes`: so many say that an instrument it relies on was found deviating.
    """

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
    latest: bool = False
    withdrawn: bool = False
    disposed: bool = False
    notes: int = 0


@dataclass(frozen=True, slots=True)
class Kept:
    """The entry of a certificate, and what the register knows beside: what replaces it, None if nothing.

    `signatures` are the entries by which it was signed after it had been recorded, the latest one last;
    `marks` the later ones: that it was withdrawn, that an instrument deviates, that it is disposed of.
    """

    body: Json
    replaced_by: str | None = None
    signatures: tuple[Json, ...] = ()
    marks: tuple[Json, ...] = ()

    @property
    def said(self) -> Mapping[str, Any]:
        """What the entry says of the certificate."""
        return said_of(self.body)

    @property
    def pdf(self) -> str:
        """The SHA-256 of the PDF as it was signed last."""
        return self.digests[PDF]

    @property
    def digests(self) -> dict[str, str]:
        """The SHA-256 of every file by its name, of the PDF as it was signed last."""
        last = self.signatures[-1] if self.signatures else self.body
        return {**{name: digest_of(self.body, name) for name in FILE_NAMES}, PDF: digest_of(last, PDF)}

    @property
    def counts(self) -> bool:
        """Whether nothing replaces it and nobody withdrew it."""
        return self.replaced_by is None and not self.marked(WITHDRAWN)

    @property
    def signed_by(self) -> tuple[str, ...]:
        """The names in the signatures of the form that was signed last, where the entry says them."""
        last: Any = (self.signatures[-1] if self.signatures else self.body).get("signed_by")
        return tuple(last or ())

    def marked(self, kind: str) -> tuple[Json, ...]:
        """Return the later entries of that kind."""
        return tuple(one for one in self.marks if one["kind"] == kind)


def find(register: Register, wanted: Wanted) -> list[Short]:
    """Return the certificates that fit, in the order in which they were added."""
    columns = {**{name: CERTIFICATES.c[name] for name in _SHORT}, "pdf_sha256": _signed_last()}
    keys = (CERTIFICATES.c.customer_key, CERTIFICATES.c.asset_key)
    query: Select[Any] = select(*(column.label(name) for name, column in columns.items()), *keys)
    query = _filtered(query.order_by(CERTIFICATES.c.sequence), wanted)
    in_parts = not (wanted.in_force or wanted.latest)
    with reading(register.engine) as connection:
        if in_parts and (wanted.limit is not None or wanted.offset):
            page = _paged(_filtered(select(CERTIFICATES.c.sequence), wanted), wanted)
            query = query.where(CERTIFICATES.c.sequence.in_(connection.execute(page).scalars().all()))
        rows = connection.execute(query).all()
        beside = _Beside(connection, rows)
    found = (beside.short(row) for row in rows)
    if in_parts:
        return list(found)
    fitting = [one for one in found if one.latest or not (wanted.latest or one.replaced_by or one.withdrawn)]
    return fitting[wanted.offset :][: wanted.limit]


class _Beside:
    """What the register knows beside the rows of a list."""

    def __init__(self, connection: Connection, rows: "Sequence[Row[Any]]") -> None:
        few = [row.sequence for row in rows] if len(rows) <= _FEW else None
        self._replaced = replacements(connection, of={row.number for row in rows})
        self._latest = latest_of(connection, {(row.customer_key, row.asset_key) for row in rows})
        query = select(MARKS.c.certificate, MARKS.c.kind)
        query = query if few is None else query.where(MARKS.c.certificate.in_(few))
        self._marks: dict[int, list[str]] = {}
        for certificate, kind in connection.execute(query):
            self._marks.setdefault(certificate, []).append(kind)

    def short(self, row: "Row[Any]") -> Short:
        """Return a row with what is known beside."""
        marks = self._marks.get(row.sequence, ())
        return Short(
            **dict(zip(_SHORT, row, strict=False)),
            replaced_by=_named(self._replaced.get(row.sequence)),
            latest=row.sequence in self._latest,
            withdrawn=WITHDRAWN in marks,
            disposed=DISPOSED in marks,
            notes=sum(kind == NOTE for kind in marks),
        )


def replaced_by(register: Register, sequence: int) -> str | None:
    """Return what replaces the certificate of that entry, None where it is in force."""
    with reading(register.engine) as connection:
        row = CERTIFICATES.c
        number = connection.execute(select(row.number).where(row.sequence == sequence)).scalar_one()
        return _named(replacements(connection, of={number}).get(sequence))


def is_latest(register: Register, sequence: int) -> bool:
    """Return whether the certificate of that entry is the latest one of its line that counts."""
    row = CERTIFICATES.c
    with reading(register.engine) as connection:
        query = select(row.customer_key, row.asset_key).where(row.sequence == sequence)
        customer, asset = connection.execute(query).one()
        return sequence in latest_of(connection, {(customer, asset)})


def kept(register: Register, wanted: Wanted, last: int) -> list[Kept]:
    """Return the certificates that fit, up to the entry `last`, in the order in which they were added."""
    query = select(ENTRIES.c.sequence, ENTRIES.c.body, CERTIFICATES.c.number)
    query = query.join(CERTIFICATES, ENTRIES.c.sequence == CERTIFICATES.c.sequence)
    query = query.where(ENTRIES.c.sequence <= last).order_by(ENTRIES.c.sequence)
    with reading(register.engine) as connection:
        rows = connection.execute(_filtered(query, wanted)).all()
        sequences = [row.sequence for row in rows]
        replaced = replacements(connection, last, {row.number for row in rows})
        signed = _later(connection, SIGNATURES, last, sequences)
        marks = _later(connection, MARKS, last, sequences)
    found = [
        Kept(
            json.loads(row.body),
            _named(replaced.get(row.sequence)),
            tuple(signed.get(row.sequence, ())),
            tuple(marks.get(row.sequence, ())),
        )
        for row in rows
    ]
    return [one for one in found if one.counts or not wanted.in_force]


def _signed_last() -> ColumnElement[str]:
    """The PDF of a certificate as it was signed last."""
    row = SIGNATURES.c
    signed = select(row.pdf_sha256).where(row.certificate == CERTIFICATES.c.sequence)
    last = signed.order_by(row.sequence.desc()).limit(1).scalar_subquery()
    return func.coalesce(last, CERTIFICATES.c.pdf_sha256)


def _later(
    connection: Connection, table: Table, last: int, certificates: Sequence[int]
) -> dict[int, list[Json]]:
    """Later entries by the certificates they are on, those that this table names, up to the entry `last`."""
    row = table.c
    query = select(row.certificate, ENTRIES.c.body).join(ENTRIES, ENTRIES.c.sequence == row.sequence)
    query = query.where(row.sequence <= last).order_by(row.sequence)
    if len(certificates) <= _FEW:
        query = query.where(row.certificate.in_(certificates))
    found: dict[int, list[Json]] = {}
    for certificate, body in connection.execute(query):
        found.setdefault(certificate, []).append(json.loads(body))
    return found


def _paged(query: Select[Any], wanted: Wanted) -> Select[Any]:
    query = query.order_by(CERTIFICATES.c.sequence)
    query = query if wanted.limit is None else query.limit(wanted.limit)
    if wanted.offset and wanted.limit is None:  # SQLite takes no offset without a limit
        query = query.limit(_ALL)
    return query.offset(wanted.offset) if wanted.offset else query


def _named(issue: Issue | None) -> str | None:
    return None if issue is None else str(issue)


def _filtered(query: Select[Any], wanted: Wanted) -> Select[Any]:
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
    conditions = [condition(value) for value, condition in made if value is not None]
    return query.where(and_(*conditions)) if conditions else query


def _used(serial: str) -> ColumnElement[bool]:
    among = select(INSTRUMENTS.c.sequence).where(INSTRUMENTS.c.serial_key == key(serial))
    return CERTIFICATES.c.sequence.in_(among)
