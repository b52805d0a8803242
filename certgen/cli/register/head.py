"""`certgen register head`: where a register ends, to be written down or time-stamped."""

from pathlib import Path

import click

from certgen.cli.io.messages import tell
from certgen.cli.io.write import require_free, write_new
from certgen.cli.register.where import register, register_option
from certgen.errors import CannotWrite, WrongUsage

STAMP = ".tst"


@click.command(
    epilog="""\b
Examples:
  certgen register head
  certgen register head -o 2026-11.head
  certgen register head -o 2026-11.head --stamp https://stamp.example/rfc3161"""
)
@click.option(
    "-o", "--output", type=click.Path(readable=False, path_type=Path), help="Also write it into a file."
)
@click.option(
    "--stamp",
    "service",
    metavar="URL",
    help="Have a service stamp the time on it (RFC 3161), beside the file.",
)
@click.option("--replace", is_flag=True, help="Replace files that exist.")
@register_option()
def command(output: Path | None, service: str | None, replace: bool, where: str | None) -> None:
    """Print the head: the count of entries and the digest that covers them all.

    Keep it where nobody who can write the register can change it: on paper, in a mail, with a time stamp.
    Then `certgen register audit --expect` proves that all up to it is as it was. With --stamp the time-stamp
    token is written beside FILE under its name with .tst; `openssl ts -verify -data FILE -in FILE.tst
    -token_in -CAfile authority.pem` holds it against FILE, as any other program for RFC 3161 does.
    """
    if service is not None and output is None:
        raise WrongUsage("--stamp: say with -o FILE where head and time stamp are to be written.")
    beside = None if output is None else output.with_name(output.name + STAMP)
    if output is not None and beside is not None:
        require_free([output, beside] if service else [output], replace, [])
    head = register(where).head()
    line = f"{head}\n".encode()
    token = None if service is None or output is None else _stamped(line, service, output)
    if output is not None:
        write_new(output, line, replace)
    if token is not None and beside is not None:
        write_new(beside, token, replace)
    click.echo(f"{head}")
    if output is not None:
        both = f"{output} and {beside}" if token is not None else f"{output}"
        tell(f"Wrote {both}.", as_json=True)


def _stamped(data: bytes, service: str, target: Path) -> bytes:
    from importlib.util import find_spec

    if find_spec("pyhanko") is None:
        raise WrongUsage("a time stamp needs a further library: pip install 'certgen[sign]'")
    from certgen.signature.pades import stamped

    try:
        return stamped(data, service)
    except OSError as error:
        raise CannotWrite(target, f"{service} gave no time stamp: {error}") from None
