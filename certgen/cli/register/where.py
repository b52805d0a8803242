"""Which register a command means: its option, the environment, or a `certgen.toml` here or above."""

import getpass
import os
import socket
import tomllib
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from certgen.cli.house import BESIDE, TABLES
from certgen.cli.toml_lines import line_of, line_of_error
from certgen.errors import WrongUsage
from certgen.findings import escaped
from certgen.survey.source import unreadable

if TYPE_CHECKING:
    from certgen.register.bodies import By
    from certgen.register.register import Register

VARIABLE = "CERTGEN_REGISTER"
_KEYS = {"at", "number_prefix"}
_METAVAR = "DIR|URL"

_told: set[tuple[Path, str]] = set()  # where a setting comes from is said once

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]


def register_option(about: str = "The register: a folder or postgresql://...") -> Decorator:
    """Return the option that names a register; its value arrives as `where`."""
    return click.option("--register", "where", metavar=_METAVAR, help=about)


def register(where: str | None, *, create: bool = False) -> "Register":
    """Open the register that is meant; WrongUsage where none is named or there is none."""
    from certgen.register.register import Register

    mind_shares()
    return Register.open(where or named(), create=create, by=who())


def mind_shares() -> None:
    """Say whether this machine is the only one that writes to shares, as the environment states it."""
    from certgen.register.shares import ONE_MACHINE, allow_shares

    allow_shares(os.environ.get(ONE_MACHINE, "").strip().lower() in {"1", "yes", "true"})


def who() -> "By":
    """Return who writes, as this machine has it; nobody proves it."""
    from certgen.register.bodies import By

    try:
        user = getpass.getuser()
    except (OSError, KeyError, ImportError):  # no name goes with the number of the user
        user = f"number {os.getuid()}" if hasattr(os, "getuid") else "not known"
    return By(user, socket.gethostname() or "not known")


def is_named(where: str | None) -> bool:
    """Return whether an option, the environment or a `certgen.toml` names a register."""
    return bool(where or _set_up())


def named() -> str:
    """Return the register that the environment or a `certgen.toml` names."""
    found = _set_up()
    if not found:
        raise WrongUsage(f"no register is named. Pass --register DIR, or set {VARIABLE}, or write {BESIDE}.")
    return found


def setting(name: str) -> str | None:
    """Return a text from the table `register` of the nearest `certgen.toml`."""
    file = _file()
    return None if file is None else _read(file, name)


def now() -> str:
    """Return the time as a register writes it: UTC, to the second."""
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _set_up() -> str | None:
    return os.environ.get(VARIABLE) or _from_file()


def _from_file() -> str | None:
    file, found = _file(), setting("at")
    if file is None or found is None:
        return None
    if "://" not in found:
        found = str(_within(file, found))
    if file.parent != Path.cwd() and (file, found) not in _told:
        _told.add((file, found))
        from certgen.register.address import shown

        click.echo(escaped(f"The register is {shown(found)}, as {file} says."), err=True)
    return found


def _within(file: Path, name: str) -> Path:
    """The folder that a file names, within its own: else whoever wrote it chose where we write."""
    folder = file.parent / name
    try:
        inside = folder.resolve().is_relative_to(file.parent.resolve())
    except (OSError, RuntimeError, ValueError):  # RuntimeError: links that lead in a circle
        inside = False
    if not inside:
        told = f"name a folder within that of this file. --register or {VARIABLE} names any other."
        raise _wrong(file, _text(file), "at", told)
    return folder


def _file() -> Path | None:
    here = Path.cwd()
    return next((folder / BESIDE for folder in (here, *here.parents) if (folder / BESIDE).is_file()), None)


def _read(file: Path, name: str) -> str | None:
    text = _text(file)
    table = _table(file, text)
    if not isinstance(table, dict) or not table.keys() <= _KEYS:
        raise _wrong(file, text, "register", f"write a table with {' and '.join(sorted(_KEYS))}.")
    found = table.get(name)
    if found is not None and not isinstance(found, str):
        raise _wrong(file, text, name, "write a text.")
    if name == "at" and found is not None and not found.strip():
        raise _wrong(file, text, name, "name a folder, or postgresql://USER@HOST/DATABASE.")
    return found


def _wrong(file: Path, text: str, key: str, message: str) -> WrongUsage:
    return WrongUsage(f"{file}:{line_of(key, text)}: {key}: {message}")


def _text(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise WrongUsage(f"{file}: this is not UTF-8 text.") from None
    except OSError as error:
        raise unreadable(file, error) from None


def _table(file: Path, text: str) -> object:
    try:
        whole = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise WrongUsage(f"{file}:{line_of_error(error)}: this is not TOML: {error}.") from None
    for key in whole:
        if key not in TABLES:
            raise _wrong(file, text, key, "unknown key. There are two tables, [house] and [register].")
    return whole.get("register", {})
