"""The certificates of authorities whose signers to trust, as `--trust` names them."""

from collections.abc import Iterable
from importlib.util import find_spec
from pathlib import Path

from certgen.cli.fetch import fetch
from certgen.errors import WrongUsage


def trusted(files: Iterable[Path]) -> tuple[bytes, ...]:
    """Return the bytes of the files; WrongUsage where one of them holds no certificate."""
    return tuple(_trusted(file) for file in files)


def _trusted(file: Path) -> bytes:
    data = fetch(file)
    if find_spec("pyhanko") is None:
        raise WrongUsage("--trust: signatures cannot be checked here: pip install 'certgen[sign]'")
    from certgen.certificate.verify_signature import authorities

    try:
        authorities(data)
    except WrongUsage as wrong:
        hint = "Name the certificate of an authority, as PEM or DER."
        raise WrongUsage(f"--trust: {file}: {wrong} {hint}") from None
    return data
