"""`certgen register list`: what is in a register, filtered."""

import json
from dataclasses import asdict
from typing import Any

import click

from certgen.certificate.content import Column, Table
from certgen.cli.register.filters import filter_options, wanted
from certgen.cli.register.where import register, register_option
from certgen.cli.text_table import text_table

_COLUMNS = ("Entry", "Certificate", "Rev.", "Issued", "Line", "Customer", "As found", "As left")
_SHOWN = ("sequence", "number", "revision", "issued", "line", "customer", "as_found", "as_left")


@click.command(
    epilog="""\b
Examples:
  certgen register list --line "Spunbond line 3" --since 2026-01-01
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
        click.echo(table("", _COLUMNS, [[f"{one[name]}" for name in _SHOWN] for one in found]))
    click.echo(f"{len(found)} certificate{'' if len(found) == 1 else 's'}.")


def table(caption: str, heads: tuple[str, ...], rows: list[list[str]]) -> str:
    """Return rows of text under their heads, aligned left; nothing of it where there are no rows."""
    columns = tuple(Column(head, "left") for head in heads)
    return text_table(Table(caption, columns, tuple(map(tuple, rows)))) if rows else caption
