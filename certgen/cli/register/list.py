"""`certgen register list`: what is in a register, filtered."""

from textwrap import wrap
from typing import Any

import click

from certgen.cli.io.messages import as_json_text
from certgen.cli.io.text_table import text_table
from certgen.cli.register.where import filter_options, register, register_option, wanted
from certgen.document.content import Column, Table
from certgen.findings import escaped

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
@click.option("--latest", is_flag=True, help="Only the latest certificate of each line.")
@click.option("--limit", type=click.IntRange(1), metavar="COUNT", help="At most so many.")
@click.option(
    "--offset", type=click.IntRange(0), default=0, metavar="COUNT", help="Leave out so many before."
)
@click.option("--json", "as_json", is_flag=True, help="Print the list as JSON.")
@register_option()
def command(as_json: bool, where: str | None, **chosen: Any) -> None:
    """List the certificates of a register in the order in which they were added.

    The latest certificate of a line is that of its latest visit, of those that nothing replaces and nobody
    withdrew; the others are "not replaced" where that is so, or replaced, or withdrawn.
    """
    from certgen.register.find import find

    found = [
        {name: getattr(one, name) for name in one.__slots__} for one in find(register(where), wanted(chosen))
    ]
    if as_json:
        click.echo(as_json_text(found))
        return
    if found:
        rows = [[*(escaped(f"{one[name]}") for name in _SHOWN), escaped(_standing(one))] for one in found]
        as_table = table("", (*_COLUMNS, "Standing"), rows)
        click.echo(as_table)
    click.echo(f"{len(found)} certificate{'' if len(found) == 1 else 's'}.")


def _standing(one: dict[str, Any]) -> str:
    """What the register knows of a certificate beside its entry."""
    if one["withdrawn"]:
        told = "withdrawn"
    elif one["replaced_by"]:
        told = f"replaced by {one['replaced_by']}"
    else:
        told = "latest of its line" if one["latest"] else "not replaced"
    more = ["instrument deviates"] if one["notes"] else []
    return "; ".join([told, *more, *(["disposed of"] if one["disposed"] else [])])


def table(caption: str, heads: tuple[str, ...], rows: list[list[str]]) -> str:
    """Return rows of text under their heads, aligned left; nothing of it where there are no rows."""
    columns = tuple(Column(head, "left") for head in heads)
    cells = tuple(tuple(map(_folded, row)) for row in rows)
    return text_table(Table(caption, columns, cells)) if rows else caption


def _folded(cell: str) -> str:
    """One very long name must not make every line of the table as long."""
    if len(cell) <= _WIDEST and "\n" not in cell:
        return cell
    return "\n".join(part for line in cell.split("\n") for part in wrap(line, _WIDEST) or [""])
