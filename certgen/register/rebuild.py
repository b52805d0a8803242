"""What a step of the migrations does that no statement could say: keys made anew, surveys and results packed.

The statements name their columns: this step stays as it is when later ones add more.
"""

import json
from collections.abc import Iterator

from sqlalchemy import Connection, text

from certgen.register.entry import Certificate, certificate_of, certificate_row, key
from certgen.register.stored import PACKED, packed
from certgen.register.supersedes import says_of_another

_PORTION = 500
_FEW = 20  # files at a time: a register is larger than memory
_KEYS = ("line_key", "asset_key", "customer_key", "words")
_SET_KEYS = """UPDATE certificates SET line_key = :line_key, asset_key = :asset_key,
    customer_key = :customer_key, words = :words WHERE sequence = :sequence"""
_SET_SERIAL = "UPDATE instruments SET serial_key = :made WHERE serial = :serial"
_PUT_SAID = "INSERT INTO replacing (sequence, said) VALUES (:sequence, :said)"
_SET_FILE = "UPDATE files SET data = :data, form = :form WHERE sha256 = :sha256"


def find_anew(connection: Connection) -> None:
    """Make all keys anew, those of certificates from their entries, and what says that it replaces one."""
    for portion in _certificates(connection):
        keys, said = [], []
        for sequence, one, digests in portion:
            row = certificate_row(sequence, one, digests)
            keys.append({name: row[name] for name in (*_KEYS, "sequence")})
            said += [{"sequence": sequence, "said": one.supersedes}] if says_of_another(one) else []
        connection.execute(text(_SET_KEYS), keys)
        if said:
            connection.execute(text(_PUT_SAID), said)
    serials = connection.execute(text("SELECT DISTINCT serial FROM instruments")).scalars().all()
    if serials:
        connection.execute(text(_SET_SERIAL), [{"serial": one, "made": key(one)} for one in serials])


def _certificates(connection: Connection) -> Iterator[list[tuple[int, Certificate, dict[str, str]]]]:
    query = """SELECT e.sequence, e.body FROM entries e JOIN certificates c ON c.sequence = e.sequence
        WHERE e.sequence > :after ORDER BY e.sequence LIMIT :most"""
    after = 0
    while rows := connection.execute(text(query), {"after": after, "most": _PORTION}).all():
        bodies = [(int(sequence), json.loads(body)) for sequence, body in rows]
        yield [(sequence, certificate_of(body), body["sha256"]) for sequence, body in bodies]
        after = bodies[-1][0]


def pack_texts(connection: Connection) -> None:
    """Pack the surveys and results of all certificates where that makes them smaller."""
    query = "SELECT survey_sha256 FROM certificates UNION SELECT results_sha256 FROM certificates"
    digests = connection.execute(text(query)).scalars().all()
    for at in range(0, len(digests), _FEW):
        names = {f"d{place}": digest for place, digest in enumerate(digests[at : at + _FEW])}
        marks = ", ".join(f":{name}" for name in names)
        some = f"SELECT sha256, data FROM files WHERE form = 'plain' AND sha256 IN ({marks})"  # noqa: S608
        made = [
            {"sha256": digest, "data": stored, "form": form}
            for digest, data in connection.execute(text(some), names).all()
            for form, stored in (packed(bytes(data)),)
            if form == PACKED
        ]
        if made:
            connection.execute(text(_SET_FILE), made)
