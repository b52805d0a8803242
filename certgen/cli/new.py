"""`certgen new`: a commented survey to start from, with the schema beside it."""

from pathlib import Path

import click

from certgen.cli.io.messages import tell
from certgen.cli.io.write import require_ordinary, write_new
from certgen.errors import CannotWrite, WouldReplace, WrongUsage
from certgen.resources import templates
from certgen.survey.schema import FILE_NAME, schema_text


@click.command(
    epilog="""\b
Example:
  certgen new line3.yaml"""
)
@click.argument("file", type=click.Path(readable=False, path_type=Path))
@click.option("--replace", is_flag=True, help="Replace files that exist already.")
def command(file: Path, replace: bool) -> None:
    """Write a commented survey to FILE, to be filled in.

    The JSON Schema of the format is written beside it, so that an editor can complete and check as you type.
    """
    beside = file.with_name(FILE_NAME)
    if file.name == FILE_NAME:
        raise WrongUsage(f"{file}: this name is kept for the schema. Choose another, such as line3.yaml.")
    require_ordinary(file)
    if file.exists() and not replace:
        raise WouldReplace(file)
    # write the schema, then the survey; where the survey fails, a schema that was new goes again
    schema, new = schema_text().encode(), not beside.exists()
    if not _holds(beside, schema):
        write_new(beside, schema, replace)
    try:
        write_new(file, (templates() / "survey.yaml").read_bytes(), replace)
    except CannotWrite:
        if new:
            beside.unlink(missing_ok=True)
        raise
    tell(f"Wrote {file} and {beside}. Fill it in, then run: certgen check {file}")


def _holds(path: Path, data: bytes) -> bool:
    """Return whether the file is there already with this content."""
    try:
        return path.read_bytes() == data
    except OSError:
        return False
