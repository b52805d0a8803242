"""The bytes of a certificate to look into, or of a key."""

from pathlib import Path

from certgen.errors import WrongUsage
from certgen.survey.source import require_ordinary, unreadable

LARGEST_BYTES = 50_000_000


def fetch(path: Path) -> bytes:
    """Return the bytes of the file; WrongUsage where there are none to be had or too many."""
    try:
        require_ordinary(path)
        with path.open("rb") as stream:
            data = stream.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as error:
        raise unreadable(path, error) from None
    if len(data) > LARGEST_BYTES:
        raise WrongUsage(f"{path}: this is larger than any certificate (50 MB).")
    return data
