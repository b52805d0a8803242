"""Which register a command means, and which of its certificates; what the commands that mark some share."""

import getpass
import os
import socket
import tomllib
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from certgen.cli.house import BESIDE, TABLES, line_of, line_of_error
from certgen.cli.io.messages import tell
from certgen.errors import WrongUsage
from certgen.findings import escaped
from certgen.survey.source import unreadable

if TYPE_CHECKING:
    from certgen.register.entries import By
    from certgen.register.find import Wanted
    from certgen.register.marks import Marked
    from certgen.register.register import Register

VARIABLE = "CERTGEN_REGISTER"
_KEYS = {"at", "number_prefix"}
_METAVAR = "DIR|URL"

_told: set[tuple[Path, str]] = set()  # where a setting comes from is said once

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]
_DAY = click.DateTime(["%Y-%m-%d"])
_VERDICTS = ("pass", "conditional pass", "conditional fail", "fail", "not measured", "not shown")
_OPTIONS = (
    click.option("--line", help="The name or the asset of a line, in full."),
    click.option("--customer", help="The customer, in full."),
    click.option("--since", type=_DAY, metavar="DAY", help="Issued on that day or later."),
    click.option("--until", type=_DAY, metavar="DAY", help="Issued on that day or earlier."),
    click.option("--verdict", type=click.Choice(_VERDICTS), help="The verdict on the line as left."),
    click.option("--instrument", metavar="SERIAL", help="The serial number of an instrument, in full."),
    click.option("--in-force", is_flag=True, help="Only those not replaced and not withdrawn."),
    click.option(
        "--text", "words", help="Text in any one of number, line, place, customer, order, instrument."
    ),
)
_LONGEST = 1000
reason_option = click.option("--reason", required=True, help="Why; it stands in the entry for good.")
revision_option = click.option(
    "--revision", type=click.IntRange(0, 10**12), help="By default the latest one."
)


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
    from certgen.register.sqlite import ONE_MACHINE, allow_shares

    allow_shares(os.environ.get(ONE_MACHINE, "").strip().lower() in {"1", "yes", "true"})


def who() -> "By":
    """Return who writes, as this machine has it; nobody proves it."""
    from certgen.register.entries import By

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
        from certgen.register.database import shown

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


def filter_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options; neither capitals nor accents count in any of them."""
    for option in reversed(_OPTIONS):
        function = option(function)
    return function


def wanted(chosen: dict[str, Any]) -> "Wanted":
    """Return what the options ask for."""
    from certgen.register.find import Wanted

    return Wanted(**{name: _plain(value) for name, value in chosen.items()})


def _plain(value: Any) -> Any:
    return value.strftime("%Y-%m-%d") if isinstance(value, datetime) else value


def checked_reason(text: str) -> str:
    """Return a reason in one line; WrongUsage where it says nothing or cannot be read."""
    plain = " ".join(text.split())
    if not plain:
        raise WrongUsage("--reason: say why; it stands in the entry for good.")
    if not plain.isprintable() or len(plain) > _LONGEST:
        raise WrongUsage(
            f"--reason: write one line of at most {_LONGEST} letters, without control characters."
        )
    return plain


def told(found: "Marked", what: str) -> None:
    """Say what was recorded of which certificates, and where the register ends now."""
    for one in found.certificates:
        click.echo(escaped(f"certificate {one['number']}, revision {one['revision']}: {what}"))
    tell(f"head {found.head}")
