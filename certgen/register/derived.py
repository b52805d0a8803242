"""The rows by which entries are found: they follow from what the entries say, and from nothing else."""

from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy import Connection, insert

from certgen.register.bodies import CERTIFICATE, DISPOSED, MARKING, RESERVATION, SIGNATURE, marked
from certgen.register.entry import (
    Json,
    certificate_of,
    certificate_row,
    instrument_rows,
    reservation_row,
    signature_row,
)
from certgen.register.supersedes import says_of_another
from certgen.register.tables import DERIVED

Rows = dict[str, list[Json]]


def rows_of(sequence: int, body: Mapping[str, Any]) -> Rows:
    """Return the rows that follow from an entry, by table; KeyError, TypeError or ValueError for no entry."""
    kind = body["kind"]
    if kind == CERTIFICATE:
        return _certificate(sequence, body)
    if kind == RESERVATION:
        return {"reservations": [reservation_row(sequence, body["number"])]}
    if kind == SIGNATURE:
        return {"signatures": [signature_row(body)]}
    if kind not in MARKING:
        raise ValueError(kind)
    found = {
        "marks": [
            {"sequence": sequence, "certificate": one["sequence"], "kind": kind}
            for one in sorted(marked(dict(body)), key=lambda one: int(one["sequence"]))
        ]
    }
    if kind == DISPOSED:
        found["removed"] = [{"sha256": digest, "sequence": sequence} for digest in body["removed"]]
    return found


def _certificate(sequence: int, body: Mapping[str, Any]) -> Rows:
    one = certificate_of(body)
    found = {
        "certificates": [certificate_row(sequence, one, body["sha256"])],
        "instruments": instrument_rows(sequence, one),
    }
    if says_of_another(one):
        found["replacing"] = [{"sequence": sequence, "said": one.supersedes}]
    return found


def put_rows(connection: Connection, found: Iterable[Rows]) -> None:
    """Add the rows of several entries, table by table so that every reference finds what it names."""
    gathered: Rows = {}
    for rows in found:
        for name, each in rows.items():
            gathered.setdefault(name, []).extend(each)
    for table in DERIVED:
        if gathered.get(table.name):
            connection.execute(insert(table), gathered[table.name])
