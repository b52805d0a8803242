"""`certgen extract`: the survey and the results that a certificate carries."""

import logging
from pathlib import Path

import click

from certgen.cli.fetch import fetch
from certgen.cli.write import write_new
from certgen.errors import NotVerified, WouldReplace


@click.command(
    epilog="""\b
Examples:
  certgen extract FC-2026-031.pdf
  certgen extract FC-2026-031.pdf -o inside --replace"""
)
@click.argument("file", type=click.Path())
@click.option(
    "-o", "--output", type=click.Path(), default=".", help="The folder to write into; by default here."
)
@click.option("--replace", is_flag=True, help="Replace files that exist.")
def command(file: str, output: str, replace: bool) -> None:
    """Write the survey and the results that the certificate FILE carries, byte for byte.

    Whether they are what was printed is for `certgen verify` to say.
    """
    logging.getLogger("pypdf").setLevel(logging.CRITICAL)
    from certgen.certificate.archive_record import RESULTS, SURVEY
    from certgen.certificate.carried import carried

    try:
        found = carried(fetch(Path(file)))
    except NotVerified as error:
        raise NotVerified(f"{file}: {error}") from None
    files = {Path(output) / SURVEY: found.survey, Path(output) / RESULTS: found.results}
    for target in files:
        if target.exists() and not replace:
            raise WouldReplace(target)
    for target, data in files.items():
        write_new(target, data, replace)
        click.echo(f"Wrote {target}, {len(data)} bytes.")
