"""SQLite in a folder: made whole, opened to be added to, or read as it stands; not on a share of several."""

import os
import re
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.pool import NullPool, Pool

from certgen.errors import RegisterBroken, RegisterInUse, RegisterRefused, WrongUsage
from certgen.register.migrations import migrate

ONE_MACHINE = "CERTGEN_ONE_MACHINE"
_MOUNTS = Path("/proc/self/mounts")
_SHARES = re.compile(
    r"nfs\d?|cifs|smb\d?|smbfs|smb3|9p|afs|ceph|lustre|glusterfs|gfs2?|ocfs2|ncpfs|davfs|davfs2|vboxsf|drvfs"
    r"|fuse\.(sshfs|glusterfs|cephfs|rclone|davfs2?|smbnetfs|s3fs|vmhgfs-fuse)"
)
_ESCAPED = re.compile(r"\\([0-7]{3})")
_allowed = False
FILE_NAME = "register.sqlite"
_AHEAD = f"{FILE_NAME}-wal"  # what was added and has not yet been carried over into the file
_AS_IT_STANDS = "as_it_stands"
_ON_A_SHARE = (
    "stands on a share of several machines ({kind}), where a register in a folder is not safe to write: what "
    "is written ahead is seen by one machine only. Keep it on a disk of one machine, or in PostgreSQL; where "
    f"only this machine ever writes to it, set {ONE_MACHINE}=yes."
)
# in this order: the wait for others comes first, or switching to the log ahead would not wait
_PRAGMAS = ("busy_timeout = 60000", "foreign_keys = ON", "recursive_triggers = ON", "synchronous = FULL")


def allow_shares(allowed: bool) -> None:
    """Say whether shares may be written to all the same, since only this machine does so."""
    global _allowed  # a setting of the machine, not of a register
    _allowed = allowed


def kind_of_share(folder: Path) -> str:
    """Return the kind of share that a folder is or would be made on, empty where it is none."""
    if _allowed:
        return ""
    return share_among(mounts(), folder.absolute())


def mounts() -> str:
    """Return what the system says is mounted; nothing where it does not tell."""
    try:
        return _MOUNTS.read_text("utf-8", "surrogateescape")
    except OSError:
        return ""


def share_among(listed: str, folder: Path) -> str:
    """Return the kind of share a folder stands on, by the lines of `mounts`; the innermost place counts."""
    within, kind = -1, ""
    for line in listed.splitlines():
        _, place, found = (*line.split(" "), "", "", "")[:3]
        at = Path(_ESCAPED.sub(lambda code: chr(int(code[1], 8)), place))
        if place and (at == folder or at in folder.parents) and len(at.parts) >= within:
            within, kind = len(at.parts), found
    return kind if _SHARES.fullmatch(kind) else ""


def embedded(folder: Path, create: bool, pool: type[Pool] = NullPool) -> Engine:
    """Return the database in a folder; a missing one is made where `create`.

    Where nothing can be written, a register that is only to be read is read as it stands; so is one on a
    share of several machines, where writing ahead would not hold together.
    """
    if folder.exists() and not folder.is_dir():
        raise WrongUsage(f"{folder}: this is a file, and a register is a folder. Name a folder.")
    share = kind_of_share(folder)
    if create and share:
        raise RegisterRefused(f"{folder}: {_ON_A_SHARE.format(kind=share)}")
    if not (folder / FILE_NAME).is_file():
        if not create:
            raise WrongUsage(f"{folder}: there is no register here.")
        _make(folder)
    if not os.access(folder / FILE_NAME, os.R_OK):
        raise RegisterRefused(f"{folder / FILE_NAME}: cannot be read.")
    if create and not all(os.access(path, os.W_OK) for path in (folder, folder / FILE_NAME)):
        raise RegisterRefused(f"{folder}: cannot be written, so nothing can be added to it.")
    plain = os.access(folder, os.W_OK) and not share
    return _sqlite(folder / FILE_NAME, pool) if plain else _as_it_stands(folder, pool)


def _make(folder: Path) -> None:
    """Make the file beside, whole, and give it its name last: nobody ever opens half a register."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with TemporaryDirectory(prefix=".new-", dir=folder) as beside:
            made = Path(beside) / FILE_NAME
            with begun(_sqlite(made), writes=True) as connection:
                migrate(connection)
            _name(made, folder / FILE_NAME)
    except OSError as error:
        raise RegisterRefused(f"{folder}: cannot be written: {error.strerror or error}.") from None


def require_writable(engine: Engine) -> None:
    """Raise RegisterRefused where a register that is to be changed is read as it stands."""
    folder = engine.get_execution_options().get(_AS_IT_STANDS)
    if folder is None:
        return
    share = kind_of_share(folder)
    if share:
        raise RegisterRefused(f"{folder}: {_ON_A_SHARE.format(kind=share)}")
    raise RegisterRefused(f"{folder}: cannot be written. Copy the whole folder to where it can.")


def require_ours(folder: Path, applied: int) -> None:
    """Raise RegisterBroken for a file without tables: certgen gives it its name when they are in it."""
    if applied == 0:
        raise RegisterBroken(
            f"{folder}: {FILE_NAME} holds no register: it was emptied, or is of another program. "
            "Put a backup of it in its place, or name another folder."
        )


@contextmanager
def standing(engine: Engine) -> Iterator[None]:
    """Raise RegisterInUse where a register that is read as it stands was written to meanwhile."""
    folder = engine.get_execution_options().get(_AS_IT_STANDS)
    before = None if folder is None else _stamp(folder)
    try:
        yield
    finally:  # what was read from a file that was changing may be wrong, and so may be any error
        if folder is not None and _stamp(folder) != before:
            raise RegisterInUse(f"{folder}: was added to while it was read. Run it again.")


def _name(made: Path, target: Path) -> None:
    try:
        target.hardlink_to(made)
    except FileExistsError:  # somebody else was quicker, and theirs is as good
        return
    except OSError:  # a file system without links
        made.rename(target)
    # have the disk keep the names in a folder; systems that cannot open one keep them anyway
    if os.name == "posix":
        opened_folder = os.open(target.parent, os.O_RDONLY)
        try:
            os.fsync(opened_folder)
        finally:
            os.close(opened_folder)


def _sqlite(file: Path, pool: type[Pool] = NullPool) -> Engine:
    url = URL.create("sqlite", database=str(file))
    engine = create_engine(url, poolclass=pool, connect_args={"timeout": 60})
    event.listen(engine, "connect", _prepare)
    event.listen(engine, "begin", _begin)
    return engine


def _as_it_stands(folder: Path, pool: type[Pool]) -> Engine:
    """SQLite would write a lock beside the file even to read it; here it is told that nothing changes."""
    if _stamp(folder)[2]:
        raise RegisterRefused(
            f"{folder}: {_AHEAD} holds what was added last, and is read only where it can be written. "
            "Copy the whole folder to such a place, or wait until nobody adds to it."
        )
    address = f"{(folder / FILE_NAME).absolute().as_uri()}?immutable=1"
    engine = create_engine(
        URL.create("sqlite", database=str(folder / FILE_NAME)),
        poolclass=pool,
        creator=lambda: sqlite3.connect(address, uri=True, isolation_level=None),
        execution_options={_AS_IT_STANDS: folder},
    )
    event.listen(engine, "begin", _begin)
    return engine


def _stamp(folder: Path) -> tuple[int, int, int]:
    """Size and time of the file, and the size of what was written ahead of it."""
    file, ahead = (folder / FILE_NAME).stat(), folder / _AHEAD
    return file.st_size, file.st_mtime_ns, ahead.stat().st_size if ahead.exists() else 0


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


@contextmanager
def begun(engine: Engine, *, writes: bool) -> Iterator[Connection]:
    """A transaction; one that only reads sees one state of the register."""
    options: dict[str, Any] = {"writes": writes}
    if not writes and engine.dialect.name != "sqlite":
        options["isolation_level"] = "REPEATABLE READ"
    with engine.connect().execution_options(**options) as connection, connection.begin():
        yield connection
