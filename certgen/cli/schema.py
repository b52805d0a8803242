"""`certgen schema`: the survey format for editors."""

import click

from certgen.survey.schema import schema_text


@click.command(
    epilog="""\b
Example:
  certgen schema > certgen-survey.schema.json"""
)
def command() -> None:
    """Print the JSON Schema (draft 2020-12) of the survey format."""
    click.echo(schema_text(), nl=False)
