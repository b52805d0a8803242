"""Several outputs of one run: all of them, or as few as can be helped."""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from certgen.cli.write import require_name, require_ordinary, write_new
from certgen.errors import CannotWrite, WouldReplace, WrongUsage


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
