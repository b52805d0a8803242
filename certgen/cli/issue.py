"""`certgen issue`: the certificate of a survey as PDF."""

from pathlib import Path
from typing import get_args

import click

from certgen.cli.load import load
from certgen.cli.write import write_new
from certgen.errors import WouldReplace
from certgen.survey.survey import Paper


@click.command(
    epilog="""\b
Examples:
  certgen issue line3.yaml
  certgen issue line3.yaml -o certificates/FC-2026-031.pdf
  certgen issue line3.yaml --paper letter --replace"""
)
@click.argument("file", type=click.Path())
@click.option("-o", "--output", type=click.Path(), help="The PDF to write; by default beside FILE.")
@click.option("--replace", is_flag=True, help="Replace an output that exists.")
@click.option(
    "--paper", type=click.Choice(get_args(Paper)), help="Paper size; by default that of the survey."
)
@click.option("--with-checklist", is_flag=True, help="Add a page on the clauses of ISO/IEC 17025.")
def command(file: str, output: str | None, replace: bool, paper: Paper | None, with_checklist: bool) -> None:
    """Issue the certificate of the survey FILE as PDF.

    An output that exists is left alone unless --replace is given; a failed run leaves nothing behind.
    """
    target = Path(output) if output else Path(file).with_suffix(".pdf")
    survey, findings = load(file)
    if target.exists() and not replace:
        raise WouldReplace(target)

    from certgen import resources
    from certgen.assessment.assess import assess
    from certgen.assessment.cautions import cautions
    from certgen.certificate.assemble import certificate_pdf
    from certgen.certificate.wording import Wording
    from certgen.engine.solution import solve_survey

    assessment = assess(solve_survey(survey))
    for finding in (*findings, *cautions(assessment)):
        click.echo(finding.line(file), err=True)
    wording = Wording(resources.templates(), "en")
    paper = paper or survey.certificate.paper
    write_new(target, certificate_pdf(assessment, wording, paper, with_checklist=with_checklist), replace)
    overall = assessment.overall
    click.echo(f"{target}: as found {overall['as_found']}, as left {overall['as_left']}")
