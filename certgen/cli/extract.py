"""`certgen extract`: the surveys and the results that a certificate or a report carries."""

import logging
from pathlib import Path

import click

from certgen.cli.io.messages import made, tell
from certgen.cli.io.write import require_folder, require_free, write_all
from certgen.cli.survey_input import fetch
from certgen.errors import NotVerified
from certgen.findings import escaped


@click.command(
    epilog="""\b
Examples:
  certgen extract FC-2026-031.pdf
  certgen extract FC-2026-031.pdf -o inside --replace
  certgen extract comparison.pdf -o inside"""
)
@click.argument("file", type=click.Path(readable=False))
@click.option(
    "-o",
    "--output",
    type=click.Path(readable=False),
    default=".",
    help="The folder to write into; by default here.",
)
@click.option("--replace", is_flag=True, help="Replace files that exist.")
def command(file: str, output: str, replace: bool) -> None:
    """Write the survey and the results that the certificate FILE carries, byte for byte.

    Whether they are what was printed is for `certgen verify` to say. FILE may as well be a comparison, a
    trend, a study or a work sheet; several surveys are numbered in the order of time. Whatever else is
    embedded is named, and not written.
    """
    logging.getLogger("pypdf").setLevel(logging.CRITICAL)
    from certgen.verify.issued_file import files_inside

    try:
        found, others = files_inside(fetch(Path(file)))
    except NotVerified as error:
        raise NotVerified(escaped(f"{file}: {error}")) from None
    folder = Path(output)
    require_folder(folder)
    files = {folder / name: data for name, data in found.items()}
    if folder.is_dir():
        require_free(list(files), replace)
    write_all(files, [folder], replace)
    made(f"Wrote {', '.join(map(str, files))}.")
    for other in others:
        click.echo(f"Not written: {escaped(other)}.", err=True)
    for target, data in files.items():
        tell(f"Wrote {target}, {len(data)} bytes.")
