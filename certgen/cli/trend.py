"""`certgen trend`: which rolls drift from visit to visit, and when to survey next."""

import json
from collections.abc import Callable
from functools import reduce
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from certgen.cli.house_options import page_options
from certgen.cli.io.messages import made, tell
from certgen.cli.io.write import require_free, write_new
from certgen.cli.register.where import register_option

if TYPE_CHECKING:
    from certgen.register.line_visits import Recorded
    from certgen.register.register import Register
    from certgen.visits.trend import Trend
    from certgen.wording.wording import Wording

_LINE_OPTIONS = (
    register_option("The register that has the LINE: a folder or postgresql://..."),
    click.option("--customer", help="The customer whose line it is, where several have one of this name."),
    click.option(
        "--since", type=click.DateTime(["%Y-%m-%d"]), metavar="DAY", help="Only visits from then on."
    ),
    click.option(
        "--without", metavar="NUMBER", multiple=True, help="Leave this certificate out; repeatable."
    ),
)


def line_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options that choose the visits to a line in a register."""
    return reduce(lambda made, option: option(made), reversed(_LINE_OPTIONS), function)


@click.command(
    epilog="""\b
Examples:
  certgen trend "Spunbond line 3 winder section" --register certificates --pdf trend.pdf
  certgen trend LN3-WND line3_today.yaml --since 2024-01-01
  certgen trend line3_2026.yaml line3_2027.yaml line3_2028.yaml --lang fr
  certgen trend FC-2026-031.pdf line3_2027.yaml --reference R5 --json"""
)
@click.argument("names", metavar="LINE|FILE...", type=click.Path(readable=False), nargs=-1, required=True)
@line_options
@click.option("--reference", metavar="ROLL", help="Hold parallel against this roll at every visit.")
@click.option("--json", "as_json", is_flag=True, help="Print the trend as JSON.")
@click.option(
    "--pdf", type=click.Path(readable=False, path_type=Path), help="Also write the trend as PDF, with plots."
)
@click.option("--replace", is_flag=True, help="Replace a PDF that exists.")
@page_options
def command(names: tuple[str, ...], **options: Any) -> None:
    """Follow every roll of a line over several visits.

    LINE is the name or the asset of a line in the register, of which every certificate in force counts: its
    latest revision, unless another one says that it replaces it. A FILE is the survey of one visit, or a
    certificate that carries it. Both may be given, in any order. Drift is what happens from one visit to the
    next; an adjustment is a step.
    """
    pdf: Path | None = options["pdf"]
    if pdf is not None:
        require_free([pdf], options["replace"], [Path(name) for name in names])

    from certgen.cli.house import house_of
    from certgen.cli.visits import Kept, first_file, solved
    from certgen.visits.trend import trend

    house = house_of(first_file(names), options["templates"])
    wording = house.wording(options["language"])
    kept = Kept("line", options["where"], lambda opened, line: _of_line(opened, line, options))
    found = trend(solved(names, kept), options["reference"])
    if pdf is not None:
        paper = house.paper_for(found.surveys[-1], options["paper"])
        from certgen.pdf.reports import trend_pdf

        write_new(pdf, trend_pdf(found, wording, paper), options["replace"])
        made(f"Wrote {pdf}.")
    click.echo(_json(found) if options["as_json"] else _text(found, wording))
    if pdf is not None:
        tell(f"Wrote {pdf}.", options["as_json"])


def _of_line(opened: "Register", line: str, options: dict[str, Any]) -> "list[Recorded]":
    from certgen.register.line_visits import LineWanted, line_surveys

    since = options["since"].strftime("%Y-%m-%d") if options["since"] else None
    return line_surveys(opened, LineWanted(line, options["customer"], since, options["without"]))


def _json(found: "Trend") -> str:
    from certgen.results.report_results import trend_results

    return json.dumps(trend_results(found), indent=2, allow_nan=False)


def _text(found: "Trend", wording: "Wording") -> str:
    from certgen.assessment.assessment import ASPECTS
    from certgen.cli.io.text_table import text_table
    from certgen.document.trend_section import drift_table, trend_conclusion, trend_identification
    from certgen.wording.values import numbers_for

    survey = found.surveys[-1]
    numbers = numbers_for(survey, wording.digits)
    lines = [wording.word("titled", title=trend_identification(found, wording), text=survey.line.name)]
    lines += [f"- {text}" for text in trend_conclusion(found, numbers, wording)]
    tables = (drift_table(found, aspect, numbers, wording) for aspect in ASPECTS)
    return "\n\n".join(["\n".join(lines), *(text_table(table) for table in tables if table is not None)])
