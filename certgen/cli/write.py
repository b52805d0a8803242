"""Writing a file whole or not at all."""

import os
import secrets
from contextlib import suppress
from pathlib import Path

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
        raise CannotWrite(path, _reason(path, error)) from None


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
        _fill(beside, data)
        if replace:
            _take_mode(target, beside)
            beside.replace(target)
        else:
            _claim(beside, target)
    finally:
        with suppress(FileNotFoundError):
            beside.unlink()


def _fill(beside: Path, data: bytes) -> None:
    with beside.open("xb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())


def _take_mode(target: Path, beside: Path) -> None:
    with suppress(FileNotFoundError):
        beside.chmod(target.stat().st_mode & 0o7777)


def _claim(beside: Path, target: Path) -> None:
    """Give the finished file its name; FileExistsError where the name is taken."""
    try:
        target.hardlink_to(beside)
    except FileExistsError:
        raise
    except OSError:  # a file system without links: claim the name first, then fill it at once
        target.open("xb").close()
        beside.replace(target)


def _reason(path: Path, error: OSError | ValueError) -> str:
    if isinstance(error, FileNotFoundError):
        return f"the folder {path.parent} does not exist."
    return f"cannot be written: {getattr(error, 'strerror', None) or error}."
