"""`certgen trend`: which rolls drift from visit to visit, and when to survey next."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

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
@click.option("--json", "as_json", is_flag=True, help="Print the trend as JSON.")
@click.option("--pdf", type=click.Path(path_type=Path), help="Also write the trend as PDF, with plots.")
@click.option("--replace", is_flag=True, help="Replace a PDF that exists.")
def command(
    files: tuple[str, ...], reference: str | None, as_json: bool, pdf: Path | None, replace: bool
) -> None:
    """Follow every roll of a line over several visits.

    Each FILE is the survey of one visit, or a certificate that carries it; in any order. Drift is what
    happens from one visit to the next; an adjustment is a step.
    """
    if pdf is not None and pdf.exists() and not replace:
        raise WouldReplace(pdf)

    from certgen import resources
    from certgen.assessment.trend import trend
    from certgen.certificate.wording import Wording
    from certgen.cli.visits import solved

    found, wording = trend(solved(files), reference), Wording(resources.templates(), "en")
    if pdf is not None:
        _write(found, wording, pdf, replace)
    click.echo(_json(found) if as_json else _text(found, wording))
    if pdf is not None:
        click.echo(f"Wrote {pdf}", err=as_json)


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
    numbers = numbers_for(survey)
    lines = [f"{identification(found, wording)}: {survey.line.name}"]
    lines += [f"- {text}" for text in conclusion(found, numbers, wording)]
    tables = (drift_table(found, aspect, numbers, wording) for aspect in ASPECTS)
    return "\n\n".join(["\n".join(lines), *(text_table(table) for table in tables if table is not None)])
