"""Writing a folder whole or not at all."""

import shutil
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from tempfile import mkdtemp

from certgen.errors import CannotWrite


def write_folder(folder: Path, files: Iterable[tuple[str, bytes]]) -> None:
    """Make a folder with these files; it gets its name only when all of them are there.

    CannotWrite where something of that name exists, or where it cannot be written.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise CannotWrite(folder, "exists already; nothing was written. Name a folder that does not.")
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        beside = Path(mkdtemp(prefix=f".{folder.name[:80]}.", dir=folder.parent))
    except OSError as error:
        raise CannotWrite(folder, f"cannot be written: {error.strerror or error}.") from None
    try:
        _fill(beside, files)
        beside.replace(folder)
    except OSError as error:
        raise CannotWrite(folder, f"cannot be written: {error.strerror or error}.") from None
    finally:
        with suppress(FileNotFoundError):
            shutil.rmtree(beside)


def _fill(beside: Path, files: Iterable[tuple[str, bytes]]) -> None:
    for name, data in files:
        (beside / name).write_bytes(data)
    beside.chmod(0o755)
