"""`certgen solve`: slopes, uncertainty, verdicts and moves of a survey, as text or as JSON."""

import json
from pathlib import Path
from typing import Any

import click

from certgen.cli.house_options import house_options
from certgen.cli.survey_input import load_assessed


@click.command(
    epilog="""\b
Examples:
  certgen solve line3.yaml
  certgen solve --json line3.yaml > line3.json
  certgen solve --budget line3.yaml
  certgen solve --lang de line3.yaml
  certgen solve --monte-carlo 100000 --seed 7 line3.yaml"""
)
@click.argument("file", type=click.Path(readable=False))
@click.option("--json", "as_json", is_flag=True, help="Print the results contract as JSON.")
@click.option("--budget", is_flag=True, help="Add the uncertainty budget of every roll.")
@click.option(
    "--monte-carlo", "trials", type=click.IntRange(1000, 10_000_000), help="Test the uncertainty by N draws."
)
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True, help="Where the draws begin.")
@house_options
def command(file: str, as_json: bool, budget: bool, **options: Any) -> None:
    """Compute slopes, uncertainty, verdicts and moves of the survey FILE.

    Slopes are positive where the drive side is high (level) or lies downstream (parallel). Warnings go to
    the standard error. Nothing is written.
    """
    from certgen.assessment.budgets import propagate
    from certgen.cli.house import house_of
    from certgen.cli.solve_text import as_data, as_text

    assessment, findings = load_assessed(file)
    wording = house_of(Path(file), options["templates"]).wording(options["language"])
    for finding in findings:
        click.echo(finding.line(file), err=True)
    trials = options["trials"]
    drawn = None if trials is None else propagate(assessment, trials, options["seed"])
    if as_json:
        click.echo(json.dumps(as_data(assessment, drawn, budget=budget), indent=2, allow_nan=False))
    else:
        click.echo(as_text(assessment, drawn, wording, budget=budget))
