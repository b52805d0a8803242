"""A register once more: in another place, or as a backup; both say the same and end at the same head."""

import json
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from sqlalchemy import Connection, bindparam, insert, select, update

from certgen.errors import RegisterBroken, RegisterRefused
from certgen.register.audit import audit
from certgen.register.database import is_address, reading, require_known, shown, writing
from certgen.register.entries import EMPTY, Head, chained
from certgen.register.register import Register, locked_head
from certgen.register.tables import ENTRIES, FILES, GONE, HEAD, file_row, put_rows, rows_of, unpacked

_PORTION = 200
_FILES = 20  # at a time: a register is larger than memory
NOTED = "head.txt"
_UNSOUND = "The register does not hold what was added to it; nothing was copied."


def copied(source: Register, where: str, note_head: bool = False) -> Head:
    """Copy a register, of whatever form, to a new folder or under an address; return its head.

    All of it arrives, in today's form and audited, or nothing. With `note_head` a folder has the head in a
    file beside. Others may go on adding to the first one: what it was at one moment is copied.
    RegisterRefused where something stands there, RegisterBroken where the register or the copy is not sound.
    """
    require_known(where)
    _require_sound(source)
    if is_address(where):
        return _filled(source, where)
    folder = Path(where).absolute()
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise RegisterRefused(f"{where}: there is something here. Name a new folder.")
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        with TemporaryDirectory(prefix=".new-", dir=folder.parent) as beside:
            made = Path(beside) / folder.name
            head = _filled(source, f"{made}")
            if note_head:
                (made / NOTED).write_text(f"{head}\n", encoding="ascii")
            made.rename(folder)
    except OSError as error:
        raise RegisterRefused(f"{where}: cannot be written: {error.strerror or error}.") from None
    return head


def _filled(source: Register, where: str) -> Head:
    target = Register.open(where, create=True)
    with reading(source.engine) as old, writing(target.engine) as new:
        if locked_head(new) != EMPTY:
            raise RegisterRefused(f"{shown(where)}: there is a register with entries here. Name a new place.")
        names = old.execute(select(FILES.c.sha256).order_by(FILES.c.sha256)).scalars().all()
        for at in range(0, len(names), _FILES):
            query = select(FILES.c.sha256, FILES.c.form, FILES.c.data)
            rows = old.execute(query.where(FILES.c.sha256.in_(names[at : at + _FILES]))).all()
            new.execute(insert(FILES), [_file(digest, form, data) for digest, form, data in rows])
        head, moved = EMPTY, update(HEAD).values(count=bindparam("at"), digest=bindparam("now"))
        for portion in _portions(old):
            entries: list[dict[str, object]] = []
            heads: list[dict[str, object]] = []
            first = head.count + 1
            for body in portion:
                digest = chained(head.digest, body)
                entries.append(
                    {"sequence": head.count + 1, "previous": head.digest, "body": body, "digest": digest}
                )
                head = Head(head.count + 1, digest)
                heads.append({"at": head.count, "now": head.digest})
            new.execute(insert(ENTRIES), entries)
            put_rows(new, (rows_of(place, json.loads(body)) for place, body in enumerate(portion, first)))
            new.execute(moved, heads)
    _require_sound(target, head)
    return head


def _require_sound(register: Register, head: Head | None = None) -> None:
    found = audit(register)
    if not found.holds:
        count = len(found.faults) - _PORTION
        more = [f"and {count} more"] if count > 0 else []
        raise RegisterBroken(*found.faults[:_PORTION], *more, _UNSOUND)
    if head is not None and found.head != head:
        raise RegisterBroken(f"the copy ends at {found.head}, and what was copied at {head}")


def _file(digest: str, form: str, data: bytes) -> dict[str, Any]:
    if form == GONE:
        return {"sha256": digest, "form": GONE, "data": b""}
    plain = unpacked(form, data)
    if plain is None:
        raise RegisterBroken(f"the file {digest} cannot be read. Run: certgen register audit")
    return file_row(digest, plain)


def _portions(old: Connection) -> Iterator[list[str]]:
    after = 0
    while True:
        query = select(ENTRIES.c.body).where(ENTRIES.c.sequence > after).order_by(ENTRIES.c.sequence)
        bodies = list(old.execute(query.limit(_PORTION)).scalars())
        if not bodies:
            return
        yield bodies
        after += len(bodies)
