"""Writing a folder whole or not at all."""

import shutil
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from tempfile import mkdtemp

from certgen.cli.write import require_name
from certgen.errors import CannotWrite


def write_folder(folder: Path, files: Iterable[tuple[str, bytes]], ours: str | None = None) -> None:
    """Make a folder with these files, whose names may lead into folders within; it gets its name at the end.

    CannotWrite where something of that name exists, or where it cannot be written. A folder that holds a file
    named `ours` is replaced: the old one is there until all of the new one is.
    """
    require_name(folder)
    replaced = ours is not None and (folder / ours).is_file()
    if folder.exists() and not replaced and (not folder.is_dir() or any(folder.iterdir())):
        raise CannotWrite(folder, "exists already; nothing was written. Name a folder that does not.")
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        beside = Path(mkdtemp(prefix=f".{folder.name[:80]}.", dir=folder.parent))
    except OSError as error:
        raise CannotWrite(folder, f"cannot be written: {error.strerror or error}.") from None
    try:
        _fill(beside / "new", files)
        _name(beside, folder)
    except OSError as error:
        raise CannotWrite(folder, f"cannot be written: {error.strerror or error}.") from None
    finally:
        with suppress(FileNotFoundError):
            shutil.rmtree(beside)


def _fill(new: Path, files: Iterable[tuple[str, bytes]]) -> None:
    new.mkdir()
    for name, data in files:
        target = new / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)


def _name(beside: Path, folder: Path) -> None:
    """Give the new folder its name; should that fail, the old one has it again."""
    new, old = beside / "new", beside / "old"
    if not folder.is_dir():
        new.rename(folder)
        return
    folder.rename(old)
    try:
        new.rename(folder)
    except OSError:
        old.rename(folder)
        raise
