"""`certgen register add`: certificates as PDF into a register."""

import logging
from pathlib import Path
from typing import TYPE_CHECKING

import click

from certgen.cli.fetch import fetch_certificate
from certgen.cli.register.where import now, register, register_option
from certgen.cli.verify import checks
from certgen.errors import CertgenError, NotVerified

if TYPE_CHECKING:
    from certgen.register.register import Register


@click.command(
    epilog="""\b
Examples:
  certgen register add FC-2026-031.pdf
  certgen register add certificates/*.pdf --register postgresql://certgen@archive.example/certificates"""
)
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@register_option("The register, made where it is missing: a folder or postgresql://...")
def command(files: tuple[Path, ...], where: str | None) -> None:
    """Verify the certificates FILES and add each of them, whole or not at all.

    One that is there already is left as it is. One that is refused does not stop the others; the exit status
    is that of the last one refused. At the end the head of the register is printed: write it down, and
    `certgen register audit --expect` proves later that nothing before it is missing.
    """
    logging.getLogger("pypdf").setLevel(logging.CRITICAL)  # what it would complain about is reported here
    opened = register(where, create=True)
    status = 0
    for file in files:
        try:
            click.echo(_added(opened, file))
        except CertgenError as error:
            click.echo(str(error), err=True)
            status = error.exit_code
    click.echo(f"head {opened.head()}")
    raise click.exceptions.Exit(status)


def _added(opened: "Register", file: Path) -> str:
    from certgen.register.take import take

    data = fetch_certificate(file)
    require_verified(str(file), data)
    held = take(str(file), data)
    added = opened.add(held, now())
    one = held.certificate
    how = "added as" if added.new else "is there already as"
    return f"{file}: certificate {one.number}, revision {one.revision}, {how} entry {added.sequence}"


def require_verified(name: str, data: bytes) -> None:
    """Raise NotVerified where a certificate does not say what its survey gives, or was changed."""
    try:
        found = checks(data)
    except NotVerified as error:
        raise NotVerified(f"{name}: {error}") from None
    wrong = [check.text for check in found if check.outcome == "differs"]
    if wrong:
        raise NotVerified(f"{name}: {'. '.join(wrong)}. Run: certgen verify {name}")
