"""Signing on behalf of the command line: the key file, its passphrase, the moment; and whom to trust."""

import os
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

import click

from certgen.cli.survey_input import fetch
from certgen.errors import CannotWrite, WrongUsage

if TYPE_CHECKING:
    from pyhanko.sign.signers import SimpleSigner

    from certgen.pdf.pdf_document import Printed
    from certgen.wording.wording import Wording

PASSPHRASE = "CERTGEN_PASSPHRASE"  # noqa: S105  # the name of the variable, not what it holds


def trusted(files: Iterable[Path]) -> tuple[bytes, ...]:
    """Return the bytes of the files; WrongUsage where one of them holds no certificate."""
    return tuple(_trusted(file) for file in files)


def _trusted(file: Path) -> bytes:
    data = fetch(file)
    if find_spec("pyhanko") is None:
        raise WrongUsage("--trust: signatures cannot be checked here: pip install 'certgen[sign]'")
    from certgen.verify.signatures import authorities

    try:
        authorities(data)
    except WrongUsage as wrong:
        hint = "Name the certificate of an authority, as PEM or DER."
        raise WrongUsage(f"--trust: {file}: {wrong} {hint}") from None
    return data


@dataclass(frozen=True, slots=True)
class Signing:
    """Who signs, when, and whether a service stamps the time."""

    signer: "SimpleSigner"
    moment: datetime
    timestamp: str | None

    def sign(self, printed: "Printed", wording: "Wording", target: Path) -> bytes:
        """Return the certificate with the signature; CannotWrite where the service gives no time stamp."""
        from certgen.signature.pades import name_of, signature_face, signed

        face = signature_face(printed.places[-1], name_of(self.signer), self.moment, wording)
        try:
            return signed(printed, self.signer, face, self.timestamp, title=wording.word("approved_by"))
        except OSError as error:
            raise CannotWrite(target, f"{self.timestamp} gave no time stamp: {error}") from None


def signing_with(key: Path, timestamp: str | None) -> Signing:
    """Return what it takes to sign with a PKCS #12 file; asks for its passphrase where no variable holds it.

    Raises WrongUsage where the file cannot be used.
    """
    if find_spec("pyhanko") is None:
        raise WrongUsage("signing needs a further library: pip install 'certgen[sign]'")
    from certgen.signature.pades import key_of

    moment, data = datetime.now(UTC), fetch(key)
    try:
        # never from the command line, where other users of the machine could read it
        given = os.environ.get(PASSPHRASE)
        if given is None:
            if not sys.stdin.isatty():
                raise WrongUsage(f"no passphrase: there is nobody to ask, and {PASSPHRASE} is not set.")
            given = click.prompt(f"Passphrase of {key}", hide_input=True, err=True)
        return Signing(key_of(data, str(given).encode(), moment), moment, timestamp)
    except WrongUsage as error:
        raise WrongUsage(f"{key}: {error}") from None
