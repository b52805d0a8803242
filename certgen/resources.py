"""The languages a certificate can be issued in."""

from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Literal, get_args

_PACKAGE = Path(__file__).parent
Language = Literal["en", "de", "fr", "es"]
LANGUAGES: tuple[Language, ...] = get_args(Language)


def _travelling(name: str) -> Path:
    installed = _PACKAGE / f"_{name}"
    return installed if installed.is_dir() else _PACKAGE.parent / name


def templates() -> Path:
    """Return the folder of the wording, the fonts and the survey scaffold."""
    return _travelling("templates")


def sample_surveys() -> Path:
    """Return the folder of the sample surveys."""
    return _travelling("sample_surveys")


@cache
def program_digest() -> str:
    """Return the SHA-256, in hexadecimal, of certgen's own code: two programs of one digest print alike."""
    digest = sha256()
    for path in sorted(_PACKAGE.rglob("*.py")):
        name, text = path.relative_to(_PACKAGE).as_posix(), path.read_bytes()
        digest.update(f"{name} {len(text)} ".encode() + text)
    return digest.hexdigest()
