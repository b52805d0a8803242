"""`certgen register reserve`: the next certificate number."""

import click

from certgen.cli.io.messages import tell
from certgen.cli.register.where import now, register, register_option, setting


@click.command(
    epilog="""\b
Examples:
  certgen register reserve --prefix FC-2026-
  certgen register reserve --prefix FC-2026- --digits 4"""
)
@click.option(
    "--prefix", help="What the number begins with; else `number_prefix` of certgen.toml, else nothing."
)
@click.option("--digits", type=click.IntRange(1, 12), default=3, show_default=True, help="Digits at least.")
@register_option("The register, made where it is missing: a folder or postgresql://...")
def command(prefix: str | None, digits: int, where: str | None) -> None:
    """Hand out the next certificate number and print it; write it into the survey.

    No number is handed out twice, and none that a certificate in the register has. A number handed out and
    never used stays a gap.
    """
    begins = prefix if prefix is not None else setting("number_prefix") or ""
    tell(register(where, create=True).reserve(begins, now(), digits))
