"""`certgen check`: every fault of a survey in one go, or what it holds."""

import json
from typing import Any

import click

from certgen.cli.survey_input import load_warned
from certgen.errors import SurveyRefused
from certgen.findings import Finding
from certgen.survey.survey import ROUNDS, Survey

Summary = dict[str, Any]


@click.command(
    epilog="""\b
Examples:
  certgen check line3.yaml
  certgen check --json line3.yaml
  certgen check --with-checklist line3.yaml"""
)
@click.argument("file", type=click.Path(readable=False))
@click.option("--json", "as_json", is_flag=True, help="Print findings and summary as JSON.")
@click.option(
    "--with-checklist", is_flag=True, help="Add the clauses of ISO/IEC 17025, each with its answer."
)
def command(file: str, as_json: bool, with_checklist: bool) -> None:
    """List every fault of the survey FILE, or say what it holds.

    Faults and warnings go to the standard error, each with its line and column: the readings are solved, so
    that what they contradict is named as `solve` and `issue` name it. Nothing is written.
    """
    try:
        survey, findings = load_warned(file)
    except SurveyRefused as refused:
        if as_json:
            click.echo(_json(file, refused.findings, None))
            raise click.exceptions.Exit(refused.exit_code) from None
        click.echo(f"{refused}\n{_count(refused.findings)}", err=True)
        raise click.exceptions.Exit(refused.exit_code) from None
    if as_json:
        click.echo(_json(file, findings, summary(survey)))
        return
    for finding in findings:
        click.echo(finding.line(file), err=True)
    click.echo(_in_words(summary(survey), len(findings)))
    if with_checklist:
        click.echo(f"\n{_clauses(survey)}")


def _clauses(survey: Survey) -> str:
    from certgen import resources
    from certgen.cli.io.text_table import text_table
    from certgen.document.content import Table
    from certgen.document.statements import checklist_section
    from certgen.wording.wording import Wording

    section = checklist_section(survey, Wording(resources.templates(), "en"))
    tables = (text_table(block) for block in section.blocks if isinstance(block, Table))
    return "\n".join((section.title, *tables))


def summary(survey: Survey) -> Summary:
    """Return what a survey holds, as counts and names."""
    level = survey.level
    readings = [*(r for setup in survey.setups for r in setup.readings), *_level_readings(survey)]
    return {
        "line": survey.line.name,
        "rolls": len(survey.rolls),
        "monuments": len(survey.monuments),
        "setups": len(survey.setups),
        "readings": {
            "parallel": sum(len(setup.readings) for setup in survey.setups),
            "level": len(level.slopes) + len(level.heights) if level else 0,
            "monuments": sum(len(setup.monuments) for setup in survey.setups),
        },
        "rounds": [when for when in ROUNDS if any(reading.round == when for reading in readings)],
        "reference": survey.reference.roll or list(survey.reference.monuments),
        "decision": survey.decision,
    }


def _level_readings(survey: Survey) -> list[Any]:
    return [*survey.level.slopes, *survey.level.heights] if survey.level else []


def _json(file: str, findings: tuple[Finding, ...], held: Summary | None) -> str:
    report = {
        "format": "certgen-check/1",
        "file": file,
        "ok": held is not None,
        "findings": [finding.plain() for finding in findings],
        "summary": held,
    }
    return json.dumps(report, indent=2)


def _count(findings: tuple[Finding, ...]) -> str:
    errors = sum(finding.severity == "error" for finding in findings)
    warnings = len(findings) - errors
    return f"{_plural(errors, 'error')}, {_plural(warnings, 'warning')}; nothing was written."


def _plural(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _in_words(held: Summary, warnings: int) -> str:
    reference, count = held["reference"], held["readings"]
    against = f"roll {reference}" if isinstance(reference, str) else f"monuments {', '.join(reference)}"
    rounds = " and ".join(when.replace("_", " ") for when in held["rounds"]) or "nothing"
    rows = (
        ("line", held["line"]),
        ("rolls", held["rolls"]),
        ("monuments", held["monuments"]),
        ("setups", held["setups"]),
        (
            "readings",
            f"{count['parallel']} parallel, {count['level']} level, {count['monuments']} of monuments",
        ),
        ("read", rounds),
        ("reference", against),
        ("decision", held["decision"].replace("_", "-")),
    )
    lines = [f"{name + ':':<11}{value}" for name, value in rows]
    return "\n".join([*lines, f"No errors, {_plural(warnings, 'warning')}."])
