"""`certgen solve`: slopes, uncertainty, verdicts and moves of a survey, as text or as JSON."""

import json

import click

from certgen.cli.load import load


@click.command(
    epilog="""\b
Examples:
  certgen solve line3.yaml
  certgen solve --json line3.yaml > line3.json"""
)
@click.argument("file", type=click.Path())
@click.option("--json", "as_json", is_flag=True, help="Print the results contract as JSON.")
def command(file: str, as_json: bool) -> None:
    """Compute slopes, uncertainty, verdicts and moves of the survey FILE.

    Slopes are positive where the drive side is high (level) or lies downstream (parallel). Warnings go to
    the standard error. Nothing is written.
    """
    from certgen.assessment.assess import assess
    from certgen.assessment.cautions import cautions
    from certgen.assessment.results import results
    from certgen.engine.solution import solve_survey

    survey, findings = load(file)
    assessment = assess(solve_survey(survey))
    for finding in (*findings, *cautions(assessment)):
        click.echo(finding.line(file), err=True)
    if as_json:
        click.echo(json.dumps(results(assessment), indent=2, allow_nan=False))
    else:
        from certgen.cli.summary import summary_text

        click.echo(summary_text(assessment))
