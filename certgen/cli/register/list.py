"""`certgen register list`: what is in a register, filtered."""

import json
from dataclasses import asdict
from textwrap import wrap
from typing import Any

import click

from certgen.certificate.content import Column, Table
from certgen.cli.register.filters import filter_options, wanted
from certgen.cli.register.where import register, register_option
from certgen.cli.text_table import text_table

_COLUMNS = ("Entry", "Certificate", "Rev.", "Issued", "Line", "Customer", "As found", "As left")
_SHOWN = ("sequence", "number", "revision", "issued", "line", "customer", "as_found", "as_left")
_WIDEST = 40


@click.command(
    epilog="""\b
Examples:
  certgen register list --line "Spunbond line 3 winder section" --since 2026-01-01
  certgen register list --instrument SL-0417 --json"""
)
@filter_options
@click.option("--json", "as_json", is_flag=True, help="Print the list as JSON.")
@register_option()
def command(as_json: bool, where: str | None, **chosen: Any) -> None:
    """List the certificates of a register in the order in which they were added."""
    from certgen.register.find import find

    found = [asdict(one) for one in find(register(where), wanted(chosen))]
    if as_json:
        click.echo(json.dumps(found, indent=2, ensure_ascii=False))
        return
    if found:
        click.echo(_as_table(found))
    click.echo(f"{len(found)} certificate{'' if len(found) == 1 else 's'}.")


def _as_table(found: list[dict[str, Any]]) -> str:
    """The column of what replaces a certificate is there where one is replaced."""
    columns = dict(zip(_SHOWN, _COLUMNS, strict=True))
    columns |= {"replaced_by": "Replaced by"} if any(one["replaced_by"] for one in found) else {}
    rows = [[f"{'' if one[name] is None else one[name]}" for name in columns] for one in found]
    return table("", tuple(columns.values()), rows)


def table(caption: str, heads: tuple[str, ...], rows: list[list[str]]) -> str:
    """Return rows of text under their heads, aligned left; nothing of it where there are no rows."""
    columns = tuple(Column(head, "left") for head in heads)
    cells = tuple(tuple(map(_folded, row)) for row in rows)
    return text_table(Table(caption, columns, cells)) if rows else caption


def _folded(cell: str) -> str:
    """One very long name must not make every line of the table as long."""
    return "\n".join(part for line in cell.split("\n") for part in wrap(line, _WIDEST) or [""])
