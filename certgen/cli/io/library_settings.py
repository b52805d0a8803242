"""What the libraries that draw look for, and write down, in the home of the user, who may have none."""

import os
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

_VARIABLE = "MPLCONFIGDIR"
_OF_REPORTLAB = ("reportlab_mods", "reportlab_settings")


def need_no_home() -> None:
    """Have the libraries that draw do without a home; to be called before they are loaded."""
    # it would run what lies in the home under these names: no page may hang on that. And where the home is no
    # folder (/dev/null), it would not load at all
    for name in _OF_REPORTLAB:
        sys.modules.setdefault(name, ModuleType(name))
    # name a temporary folder, gone when this process ends, where matplotlib could not write its own. It would
    # say so on the standard error. Processes that are started afterwards share the folder
    if os.environ.get(_VARIABLE) or all(map(_can_be_written, _usual())):
        return
    import atexit
    import logging
    from tempfile import TemporaryDirectory

    try:
        folder = TemporaryDirectory(prefix="certgen-")
    except OSError:
        return  # matplotlib says what it lacks, where it is needed
    atexit.register(folder.cleanup)
    os.environ[_VARIABLE] = folder.name
    logging.getLogger("matplotlib").setLevel(logging.ERROR)  # that it lists the fonts anew, every time


def _usual() -> Iterator[Path]:
    """The folders that it writes to; elsewhere than on Linux they have other names, in the same home."""
    for variable, name in (("XDG_CONFIG_HOME", ".config"), ("XDG_CACHE_HOME", ".cache")):
        yield Path(os.environ.get(variable) or os.path.join("~", name), "matplotlib")  # noqa: PTH118


def _can_be_written(folder: Path) -> bool:
    """Whether the folder, or the nearest one above it that is there, may be written to."""
    try:
        wanted = folder.expanduser().absolute()
    except RuntimeError:  # there is no home
        return False
    there = next(one for one in (wanted, *wanted.parents) if os.access(one, os.F_OK))
    return there.is_dir() and os.access(there, os.W_OK | os.X_OK)
