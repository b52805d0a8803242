"""`certgen trend`: which rolls drift from visit to visit, and when to survey next."""

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from certgen.certificate.languages import LANGUAGES
from certgen.cli.write import write_new
from certgen.errors import WouldReplace

if TYPE_CHECKING:
    from certgen.assessment.trend_records import Trend
    from certgen.certificate.wording import Wording


@click.command(
    epilog="""\b
Examples:
  certgen trend line3_2026.yaml line3_2027.yaml line3_2028.yaml
  certgen trend FC-2026-031.pdf line3_2027.yaml --reference R5 --json
  certgen trend line3_*.yaml --pdf trend.pdf"""
)
@click.argument("files", metavar="FILE...", type=click.Path(), nargs=-1, required=True)
@click.option("--reference", metavar="ROLL", help="Hold parallel against this roll at every visit.")
@click.option(
    "--lang", "language", type=click.Choice(LANGUAGES), default="en", help="Language, else English."
)
@click.option("--json", "as_json", is_flag=True, help="Print the trend as JSON.")
@click.option("--pdf", type=click.Path(path_type=Path), help="Also write the trend as PDF, with plots.")
@click.option("--replace", is_flag=True, help="Replace a PDF that exists.")
def command(files: tuple[str, ...], **options: Any) -> None:
    """Follow every roll of a line over several visits.

    Each FILE is the survey of one visit, or a certificate that carries it; in any order. Drift is what
    happens from one visit to the next; an adjustment is a step.
    """
    pdf: Path | None = options["pdf"]
    if pdf is not None and pdf.exists() and not options["replace"]:
        raise WouldReplace(pdf)

    from certgen import resources
    from certgen.assessment.trend import trend
    from certgen.certificate.wording import Wording
    from certgen.cli.visits import solved

    found = trend(solved(files), options["reference"])
    wording = Wording(resources.templates(), options["language"])
    if pdf is not None:
        _write(found, wording, pdf, options["replace"])
    click.echo(_json(found) if options["as_json"] else _text(found, wording))
    if pdf is not None:
        click.echo(f"Wrote {pdf}", err=options["as_json"])


def _write(found: "Trend", wording: "Wording", pdf: Path, replace: bool) -> None:
    from certgen.certificate.trend_pages import trend_pdf

    write_new(pdf, trend_pdf(found, wording), replace)


def _json(found: "Trend") -> str:
    from certgen.assessment.trend_results import trend_results

    return json.dumps(trend_results(found), indent=2, allow_nan=False)


def _text(found: "Trend", wording: "Wording") -> str:
    from certgen.assessment.assessment import ASPECTS
    from certgen.certificate.numbers import numbers_for
    from certgen.certificate.trend_tables import drift_table
    from certgen.certificate.trend_words import conclusion, identification
    from certgen.cli.text_table import text_table

    survey = found.surveys[-1]
    numbers = numbers_for(survey, wording.digits)
    lines = [f"{identification(found, wording)}: {survey.line.name}"]
    lines += [f"- {text}" for text in conclusion(found, numbers, wording)]
    tables = (drift_table(found, aspect, numbers, wording) for aspect in ASPECTS)
    return "\n\n".join(["\n".join(lines), *(text_table(table) for table in tables if table is not None)])
