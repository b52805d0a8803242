"""Writing a file, a folder or several outputs whole or not at all."""

import os
import secrets
import shutil
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from tempfile import mkdtemp

from certgen.errors import CannotWrite, WouldReplace, WrongUsage

_STANDARD_OUTPUT = Path("-")  # as other programs mean it


def write_new(path: Path, data: bytes, replace: bool = False) -> None:
    """Write `data` to `path`, all of it or nothing; an existing file is left alone unless `replace`.

    Raises WouldReplace where the file exists, CannotWrite where it cannot be written, WrongUsage for a dash.
    """
    try:
        require_ordinary(path)
        target = path.resolve() if replace else path  # a link stays, and what it leads to is replaced
        _write(target, data, replace)
    except FileExistsError:
        raise WouldReplace(path) from None
    except (OSError, ValueError) as error:
        if isinstance(error, FileNotFoundError):
            reason = f"the folder {path.parent} does not exist."
        else:
            reason = f"cannot be written: {getattr(error, 'strerror', None) or error}."
        raise CannotWrite(path, reason) from None


def require_name(path: Path) -> None:
    """Raise WrongUsage for a dash, with which other programs mean the standard output."""
    if path == _STANDARD_OUTPUT:
        raise WrongUsage("-: what certgen makes are files, never the standard output. Name one.")


def require_ordinary(path: Path) -> None:
    """Raise CannotWrite where a folder, a device or a pipe has this name, WrongUsage where it is a dash.

    None of those is ever replaced, whatever is asked for: a device would be gone for the whole machine.
    """
    require_name(path)
    if path.is_dir():
        raise CannotWrite(path, "this is a folder. Name a file in it.")
    if path.exists() and not path.is_file():
        raise CannotWrite(path, "this is a device, a pipe or the like, no ordinary file. Name another file.")


def _write(target: Path, data: bytes, replace: bool) -> None:
    beside = target.with_name(f".{target.name[:100]}.{secrets.token_hex(6)}")
    try:
        with beside.open("xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        if replace:
            with suppress(FileNotFoundError):
                beside.chmod(target.stat().st_mode & 0o7777)
            beside.replace(target)
        else:
            _claim(beside, target)
    finally:
        with suppress(FileNotFoundError):
            beside.unlink()


def _claim(beside: Path, target: Path) -> None:
    """Give the finished file its name; FileExistsError where the name is taken."""
    try:
        target.hardlink_to(beside)
    except FileExistsError:
        raise
    except OSError:  # a file system without links: claim the name first, then fill it at once
        target.open("xb").close()
        beside.replace(target)


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
        new = beside / "new"
        new.mkdir()
        for name, data in files:
            target = new / name
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(data)
        _name(beside, folder)
    except OSError as error:
        raise CannotWrite(folder, f"cannot be written: {error.strerror or error}.") from None
    finally:
        with suppress(FileNotFoundError):
            shutil.rmtree(beside)


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


def require_free(targets: Sequence[Path], replace: bool, inputs: Sequence[Path] = ()) -> None:
    """Raise where a target cannot be written to, before anything is made: nothing is half written for it.

    What a command reads is never replaced.
    """
    seen: set[Path] = set()
    for target in targets:
        if any(_is_same(target, one) for one in inputs):
            raise WrongUsage(f"{target}: this is what the command reads. Name another file.")
        if target.absolute() in seen:
            raise WrongUsage(f"{target}: two outputs have this name.")
        seen.add(target.absolute())
        require_ordinary(target)
        if target.exists() and not replace:
            raise WouldReplace(target)
        if not target.parent.is_dir():
            raise CannotWrite(target, f"the folder {target.parent} does not exist.")


def _is_same(target: Path, other: Path) -> bool:
    try:
        return target.samefile(other)
    except (OSError, ValueError):  # one of them is not there
        return False


def require_folder(folder: Path) -> None:
    """Raise where a folder is not there and cannot be made."""
    require_name(folder)
    if folder.exists() and not folder.is_dir():
        raise CannotWrite(folder, "this is a file. Name a folder.")
    if not folder.absolute().parent.is_dir():
        raise CannotWrite(folder, f"the folder {folder.parent} does not exist.")


def write_all(files: Mapping[Path, bytes], folders: Sequence[Path], replace: bool) -> None:
    """Write every file; where one fails, those that were new are taken away again."""
    made = [folder for folder in folders if not folder.exists()]
    new = [path for path in files if not path.exists()]
    written: list[Path] = []
    try:
        for folder in made:
            folder.mkdir()
        require_free(list(files), replace)
        for path, data in files.items():
            write_new(path, data, replace)
            written.append(path)
    except BaseException:  # an interrupt, too, must not leave half of it
        _take_back([path for path in written if path in new], made)
        raise


def _take_back(files: Sequence[Path], folders: Sequence[Path]) -> None:
    for path in files:
        with suppress(OSError):
            path.unlink()
    for folder in folders:
        with suppress(OSError):
            folder.rmdir()
