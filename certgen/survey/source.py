"""The bytes of a survey file: fetched, measured and decoded, with the place of the first bad byte."""

import re
from pathlib import Path

from certgen.errors import SurveyRefused, WrongUsage
from certgen.findings import Finding, Place

LARGEST_BYTES = 5_000_000
WHOLE_FILE = "the file"

# what YAML 1.2 (section 5.1) calls printable; the rest cannot stand in a file of text
_UNPRINTABLE = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_PDF = b"%PDF-"
_SAMPLE = 200
_BYTE_ORDER_MARKS_16 = (b"\xff\xfe", b"\xfe\xff")


def refuse(
    file: str, message: str, hint: str, place: Place | None = None, got: str | None = None
) -> SurveyRefused:
    """Return the error that refuses the file as a whole for one reason."""
    finding = Finding("error", place or Place(1, 1), WHOLE_FILE, message, hint, got)
    return SurveyRefused(file, (finding,))


def fetch(path: Path) -> bytes:
    """Return the bytes of the file; WrongUsage where there are none to be had, SurveyRefused for too many."""
    try:
        require_ordinary(path)
        with path.open("rb") as stream:
            data = stream.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:
        raise unreadable(path, error) from None
    if len(data) > LARGEST_BYTES:
        raise refuse(str(path), "the file is larger than 5 MB", "Keep one visit to one line in one file.")
    return data


def require_ordinary(path: Path) -> None:
    """Raise WrongUsage for a device, a pipe or a socket, reading from which might never end."""
    if path.exists() and not path.is_file() and not path.is_dir():
        raise WrongUsage(f"{path}: this is a device, a pipe or the like, no ordinary file. Name a file.")


def unreadable(path: Path, error: OSError | ValueError) -> WrongUsage:
    """Return the error about a path from which nothing can be read."""
    if isinstance(error, FileNotFoundError):
        return WrongUsage(f"{path}: there is no such file. Check the name and the folder.")
    if isinstance(error, IsADirectoryError):
        return WrongUsage(f"{path}: this is a folder. Name a file in it.")
    reason = getattr(error, "strerror", None) or error
    return WrongUsage(f"{path}: cannot be read: {reason}. Check its permissions and its name.")


def decode(file: str, data: bytes) -> str:
    """Return the text without a byte order mark; SurveyRefused at the first byte that is not UTF-8 text."""
    if data.startswith(_PDF):
        hint = "Name the YAML file of the survey; `certgen extract` takes it out of a certificate."
        raise refuse(file, "this is a PDF", hint)
    if data.startswith(_BYTE_ORDER_MARKS_16) or _is_utf_16(data):
        raise refuse(file, "the file is saved as UTF-16", "Save it as UTF-8.")
    try:
        text = data.decode("utf-8").removeprefix("\ufeff")
    except UnicodeDecodeError as error:
        place = _place_after(data[: error.start].decode("utf-8"))
        got = f"byte 0x{data[error.start]:02X}"
        raise refuse(file, "this byte is not UTF-8 text", "Save the file as UTF-8.", place, got) from None
    bad = _UNPRINTABLE.search(text)
    if bad:
        got = f"U+{ord(bad.group()):04X}"
        place = _place_after(text[: bad.start()])
        raise refuse(file, "a control character cannot stand here", "Remove it.", place, got)
    return text


def _is_utf_16(data: bytes) -> bool:
    """Return whether every other byte is nothing, as in a text of mostly Latin letters in two bytes each."""
    start = data[:_SAMPLE]
    halves = start[::2], start[1::2]
    return any(half.count(0) > len(half) // 2 for half in halves)


def _place_after(before: str) -> Place:
    lines = re.split(r"\r\n|\r|\n", before.removeprefix("\ufeff"))
    return Place(len(lines), len(lines[-1]) + 1)
