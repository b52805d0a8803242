"""`certgen compare`: which rolls have moved, from as found to as left or from one visit to the next."""

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from certgen.cli.house_options import page_options
from certgen.cli.io.messages import made, tell
from certgen.cli.io.write import require_free, write_new
from certgen.cli.quantity_option import typed
from certgen.cli.register.where import register_option
from certgen.survey.quantities import Quantity
from certgen.survey.units import Measure

if TYPE_CHECKING:
    from certgen.register.line_visits import Recorded
    from certgen.register.register import Register
    from certgen.visits.comparison import Comparison
    from certgen.wording.wording import Wording

_SLOPE = typed(Quantity(("slope", "angle"), None, "positive"))


@click.command(
    epilog="""\b
Examples:
  certgen compare line3.yaml
  certgen compare line3_2026.yaml line3_2027.yaml --templates our_house
  certgen compare line3_2026.yaml line3_2027.yaml --reference R5 --relevant "0.02 mm/m"
  certgen compare FC-2026-031 line3_2027.yaml --register certificates --pdf comparison.pdf"""
)
@click.argument("one", metavar="FILE|NUMBER", type=click.Path(readable=False))
@click.argument("other", metavar="[NEXT]", type=click.Path(readable=False), required=False)
@register_option("The register that has the NUMBER: a folder or postgresql://...")
@click.option("--reference", metavar="ROLL", help="Hold parallel against this roll at both.")
@click.option(
    "--relevant", metavar="SLOPE", callback=_SLOPE, help="The change that matters; else tolerances."
)
@click.option("--json", "as_json", is_flag=True, help="Print the comparison as JSON.")
@click.option(
    "--pdf",
    type=click.Path(readable=False, path_type=Path),
    help="Also write the comparison as PDF, with a plot.",
)
@click.option("--replace", is_flag=True, help="Replace a PDF that exists.")
@page_options
def command(one: str, other: str | None, **options: Any) -> None:
    """Say which rolls have moved.

    With one survey FILE, from as found to as left. With the survey NEXT of a later visit too, from how the
    first left the line to how the next one found it. Surveys may be given in any order; for each may stand
    a certificate that carries it, as PDF or by its NUMBER in the register, whose latest revision is taken.
    """
    names = [one] if other is None else [one, other]
    pdf: Path | None = options["pdf"]
    if pdf is not None:
        require_free([pdf], options["replace"], [Path(name) for name in names])

    from certgen.cli.house import house_in

    house = house_in(options["templates"])
    wording = house.wording(options["language"])
    from certgen.cli.visits import Kept, solved
    from certgen.visits.comparison import compare, within

    visits = solved(names, Kept("certificate", options["where"], _of_number))
    relevant: Measure | None = options["relevant"]
    reference, limit = options["reference"], None if relevant is None else relevant.value
    if len(visits) == 1:
        found = within(visits[0], reference, limit)
    else:
        found = compare(visits[0], visits[1], reference, limit)
    if pdf is not None:
        paper = house.paper_for(found.after.survey, options["paper"])
        from certgen.pdf.reports import comparison_pdf

        write_new(pdf, comparison_pdf(found, wording, paper), options["replace"])
        made(f"Wrote {pdf}.")
    click.echo(_json(found) if options["as_json"] else _text(found, wording))
    if pdf is not None:
        tell(f"Wrote {pdf}.", options["as_json"])


def _of_number(opened: "Register", number: str) -> "list[Recorded]":
    from certgen.register.line_visits import certificate_survey

    return [certificate_survey(opened, number)]


def _json(found: "Comparison") -> str:
    from certgen.results.report_results import comparison_results

    return json.dumps(comparison_results(found), indent=2, allow_nan=False)


def _text(found: "Comparison", wording: "Wording") -> str:
    from certgen.assessment.assessment import ASPECTS
    from certgen.cli.io.text_table import text_table
    from certgen.document.comparison_section import (
        comparison_conclusion,
        comparison_identification,
        comparison_table,
        remarks,
    )
    from certgen.wording.values import numbers_for

    survey = found.after.survey
    numbers = numbers_for(survey, wording.digits)
    lines = [wording.word("titled", title=comparison_identification(found, wording), text=survey.line.name)]
    lines += [
        f"- {text}" for text in (*comparison_conclusion(found, wording), *remarks(found, numbers, wording))
    ]
    tables = (comparison_table(found, aspect, numbers, wording) for aspect in ASPECTS)
    return "\n\n".join(["\n".join(lines), *(text_table(table) for table in tables if table is not None)])
