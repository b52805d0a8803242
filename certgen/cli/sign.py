"""`certgen sign`: an electronic signature for a certificate that was issued before."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from certgen.cli.house import House, house_in
from certgen.cli.io.messages import made, tell
from certgen.cli.io.write import require_free, write_all
from certgen.cli.signing import signing_with
from certgen.cli.survey_input import fetch
from certgen.cli.verify import checks, quiet
from certgen.errors import NotVerified, WrongUsage
from certgen.findings import escaped

if TYPE_CHECKING:
    from certgen.pdf.pdf_document import Printed

_FILE = click.Path(readable=False, path_type=Path)


@click.command(
    epilog="""\b
Examples:
  certgen sign FC-2026-031.pdf --key approver.p12 -o FC-2026-031-signed.pdf
  certgen sign FC-2026-031.pdf --key approver.p12 --timestamp https://time.example/ -o signed.pdf"""
)
@click.argument("file", type=_FILE)
@click.option("--key", type=_FILE, required=True, help="Sign with this PKCS #12 key (.p12).")
@click.option("-o", "--output", type=_FILE, required=True, help="The signed PDF to write.")
@click.option("--replace", is_flag=True, help="Replace the output if it exists.")
@click.option("--timestamp", help="The address of a time-stamp service (RFC 3161).")
@click.option("--templates", type=_FILE, help="The folder of templates that printed it.")
def command(
    file: Path, key: Path, output: Path, replace: bool, timestamp: str | None, templates: Path | None
) -> None:
    """Sign the certificate FILE, which was issued without a signature.

    It is verified first, and only one that says what its survey gives is signed: the signature stands in the
    place for it, as if it had been signed when it was issued, and every byte of the certificate stays. The
    passphrase of the key is asked for, or read from the environment variable CERTGEN_PASSPHRASE.
    """
    quiet()
    require_free([output], replace, [file, key])
    try:
        house = house_in(templates)
        printed, language = _to_sign(fetch(file), house)
    except NotVerified as error:
        raise NotVerified(escaped(f"{file}: {error}")) from None
    except WrongUsage as error:
        raise WrongUsage(escaped(f"{file}: {error}")) from None
    data = signing_with(key, timestamp).sign(printed, house.wording(language), output)
    write_all({output: data}, [], replace)
    made(f"Wrote {output}.")
    tell(f"{output}: signed, as {file} was issued")


def _to_sign(data: bytes, house: House) -> "tuple[Printed, str]":
    """The certificate with its places to sign, and its language.

    Raises NotVerified where it does not verify, WrongUsage where it is signed already, or is a draft.
    """
    from certgen.pdf.canvas import SignaturePlace
    from certgen.pdf.pdf_document import Printed
    from certgen.verify.compare_contents import answer
    from certgen.verify.issued_file import carried

    found = carried(data)
    if found.appended:
        raise WrongUsage(
            "it is signed already, or something else was appended to it; sign it as it was issued."
        )
    results: dict[str, Any] = found.found() or {}
    how = results.get("printed")
    if isinstance(how, dict) and how.get("draft") is True:
        raise WrongUsage("it is a draft, and a draft is not signed; issue it without --draft.")
    said = checks(data, house, ())
    if answer(said) != "verified":
        odd = next((one.text for one in said if one.outcome in {"differs", "not compared"}), "")
        raise NotVerified(f"only a certificate that verifies is signed. {odd}.")
    assert isinstance(how, dict)  # noqa: S101  # else it would not verify
    places = tuple(SignaturePlace(int(page), tuple(box)) for page, *box in how["signature_places"])
    return Printed(found.base, places, found.results, found.results), str(how["language"])
