"""`certgen register add`: certificates as PDF into a register."""

from pathlib import Path

import click

from certgen.cli.register.where import now, register, register_option
from certgen.errors import CertgenError, WrongUsage


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
    from certgen.register.register import Register

    opened: Register = register(where, create=True)
    status = 0
    for file in files:
        try:
            click.echo(_added(opened, file))
        except CertgenError as error:
            click.echo(str(error), err=True)
            status = error.exit_code
    click.echo(f"head {opened.head()}")
    raise click.exceptions.Exit(status)


def _added(opened: object, file: Path) -> str:
    from certgen.register.register import Register
    from certgen.register.take import verified

    assert isinstance(opened, Register)  # noqa: S101  # loaded only here
    held = verified(str(file), fetched(file))
    added = opened.add(held, now())
    one = held.certificate
    how = "added as" if added.new else "is there already as"
    return f"{file}: certificate {one.number}, revision {one.revision}, {how} entry {added.sequence}"


def fetched(file: Path) -> bytes:
    """Return the bytes of a file; WrongUsage where there are none to be had."""
    try:
        return file.read_bytes()
    except OSError as error:
        raise WrongUsage(f"{file}: cannot be read: {error.strerror}.") from None
