"""`certgen moves`: what the crew has to move, as text, as JSON, or as a work sheet to take to the line."""

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from certgen.cli.house_options import page_options
from certgen.cli.io.messages import made, tell
from certgen.cli.io.write import require_free, write_new
from certgen.cli.survey_input import load_assessed
from certgen.survey.survey import Paper

if TYPE_CHECKING:
    from certgen.assessment.assessment import Assessment
    from certgen.wording.wording import Wording


@click.command(
    epilog="""\b
Examples:
  certgen moves line3.yaml
  certgen moves line3.yaml --pdf line3-moves.pdf
  certgen moves line3.yaml --lang es --paper A5 --pdf line3-moves.pdf
  certgen moves --json line3.yaml"""
)
@click.argument("file", type=click.Path(readable=False))
@click.option("--json", "as_json", is_flag=True, help="Print the moves as JSON.")
@click.option(
    "--pdf",
    type=click.Path(readable=False, path_type=Path),
    help="Write the work sheet for the crew to this file.",
)
@click.option("--replace", is_flag=True, help="Replace a work sheet that exists.")
@page_options
def command(file: str, as_json: bool, pdf: Path | None, replace: bool, **options: Any) -> None:
    """Say what to move on the line of the survey FILE, from its last readings.

    Rolls that do not pass come first, with bearing, direction, amount, shims and stop reading; then what to
    leave alone. A work sheet that exists is left alone unless --replace is given.
    """
    assessment, findings = load_assessed(file)
    if pdf is not None:
        require_free([pdf], replace, [Path(file)])

    from certgen.cli.house import house_of

    house = house_of(Path(file), options["templates"])
    wording = house.wording(options["language"])
    for finding in findings:
        click.echo(finding.line(file), err=True)
    if pdf is not None:
        write_new(
            pdf, _pdf(assessment, wording, house.paper_for(assessment.survey, options["paper"])), replace
        )
        made(f"Wrote {pdf}.")
    click.echo(_json(assessment) if as_json else _text(assessment, wording))
    if pdf is not None:
        tell(f"Wrote {pdf}.", as_json)


def _json(assessment: "Assessment") -> str:
    from certgen.results.move_results import all_moves

    return json.dumps(all_moves(assessment), indent=2, allow_nan=False)


def _text(assessment: "Assessment", wording: "Wording") -> str:
    from certgen.cli.moves_text import sheet_text
    from certgen.document.work_sheet import work_sheet

    return sheet_text(work_sheet(assessment, wording), wording)


def _pdf(assessment: "Assessment", wording: "Wording", paper: Paper) -> bytes:
    from certgen.pdf.work_sheet_pages import work_sheet_pdf

    return work_sheet_pdf(assessment, wording, paper)
