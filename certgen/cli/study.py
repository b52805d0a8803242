"""`certgen study`: what each roll, the offset line or a free direction would cost as the reference."""

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from certgen.cli.house_options import page_options
from certgen.cli.io.messages import made, tell
from certgen.cli.io.write import require_free, write_new
from certgen.cli.survey_input import load_assessed
from certgen.survey.survey import ROUNDS, Paper

if TYPE_CHECKING:
    from certgen.reference_study.study import Study
    from certgen.wording.wording import Wording


@click.command(
    epilog="""\b
Examples:
  certgen study line3.yaml
  certgen study line3.yaml --round as_left --json
  certgen study line3.yaml --lang fr --templates our_house --pdf study.pdf"""
)
@click.argument("file", type=click.Path(readable=False))
@click.option("--round", "which", type=click.Choice(ROUNDS), default="as_found", show_default=True)
@click.option("--json", "as_json", is_flag=True, help="Print the study as JSON.")
@click.option(
    "--pdf", type=click.Path(readable=False, path_type=Path), help="Also write the study as PDF, with a plot."
)
@click.option("--replace", is_flag=True, help="Replace a PDF that exists.")
@page_options
def command(file: str, as_json: bool, pdf: Path | None, replace: bool, **options: Any) -> None:
    """Compare what each possible reference of the survey FILE would cost.

    For each roll, the offset line where there is one, and the free direction that serves most rolls: how many
    rolls would not pass for parallel, and what would have to be moved. The cheapest stands first.
    """
    assessment, findings = load_assessed(file)
    if pdf is not None:
        require_free([pdf], replace, [Path(file)])

    from certgen.cli.house import house_of
    from certgen.reference_study.study import study

    house = house_of(Path(file), options["templates"])
    wording = house.wording(options["language"])
    for finding in findings:
        click.echo(finding.line(file), err=True)
    found = study(assessment.solution, options["which"])
    if pdf is not None:
        write_new(pdf, _pdf(found, wording, house.paper_for(assessment.survey, options["paper"])), replace)
        made(f"Wrote {pdf}.")
    click.echo(_json(found) if as_json else _text(found, wording))
    if pdf is not None:
        tell(f"Wrote {pdf}.", as_json)


def _pdf(found: "Study", wording: "Wording", paper: Paper) -> bytes:
    from certgen.pdf.reports import study_pdf

    return study_pdf(found, wording, paper)


def _json(found: "Study") -> str:
    from certgen.results.report_results import study_results

    return json.dumps(study_results(found), indent=2, allow_nan=False)


def _text(found: "Study", wording: "Wording") -> str:
    from certgen.cli.io.text_table import text_table
    from certgen.document.study_section import study_conclusion, study_table
    from certgen.pdf.reports import study_identification
    from certgen.wording.values import joined, numbers_for

    numbers = numbers_for(found.survey, wording.digits)
    lines = [wording.word("titled", title=study_identification(found, wording), text=found.survey.line.name)]
    lines += [f"- {text}" for text in study_conclusion(found, numbers, wording)]
    if found.not_measured:
        lines.append(wording.word("study_not_measured", list=joined(found.not_measured)))
    table = text_table(study_table(found, numbers, wording))
    return "\n".join([*lines, "", table, "", wording.word("study_warning")])
