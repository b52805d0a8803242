"""`certgen register export`: a register as a table, or as a folder that an auditor can read."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from certgen.cli.io.messages import tell
from certgen.cli.io.write import write_folder, write_new
from certgen.cli.register.audit import require_sound
from certgen.cli.register.where import filter_options, register, register_option, wanted
from certgen.errors import WrongUsage

if TYPE_CHECKING:
    from certgen.register.register import Register

_KINDS = ("csv", "json", "xlsx")


@click.command(
    epilog="""\b
Examples:
  certgen register export -o register.csv
  certgen register export -o 2026.xlsx --since 2026-01-01 --until 2026-12-31
  certgen register export --folder for_the_auditor --customer "Larkfield Nonwovens\""""
)
@click.option(
    "-o",
    "--output",
    type=click.Path(readable=False, path_type=Path),
    help="The table to write: .csv, .json or .xlsx.",
)
@click.option(
    "--folder",
    type=click.Path(readable=False, path_type=Path),
    help="A folder to make, with PDFs and index.html.",
)
@click.option("--replace", is_flag=True, help="Replace a table that exists.")
@filter_options
@register_option()
def command(
    output: Path | None, folder: Path | None, replace: bool, where: str | None, **chosen: Any
) -> None:
    """Write the certificates of a register as a table, or as a folder of PDFs with an index.

    The folder needs nothing but a browser: index.html leads to every PDF, SHA256SUMS holds their digests.
    The register is audited first; one that was changed is not exported.
    """
    if (output is None) == (folder is None):
        raise WrongUsage("say what to write: either a table with -o FILE, or a folder with --folder DIR.")
    opened = register(where)
    require_sound(opened)
    if output is not None:
        count, table = _table(opened, output, chosen)
        write_new(output, table, replace)
        tell(f"Wrote {_certificates(count)} into {output}.")
    elif folder is not None:
        from certgen.register.export import folder_files
        from certgen.register.find import kept

        head = opened.head()
        found = kept(opened, wanted(chosen), head.count)
        write_folder(folder, folder_files(opened, found, head))
        count = len(found)
        tell(f"Wrote {_certificates(count)} into {folder}. Open {folder / 'index.html'}.")


def _certificates(count: int) -> str:
    return f"{count} certificate{'' if count == 1 else 's'}"


def _table(opened: "Register", output: Path, chosen: dict[str, Any]) -> tuple[int, bytes]:
    from certgen.register.export import as_csv, as_json, as_xlsx
    from certgen.register.find import kept

    kind = output.suffix.lower().removeprefix(".")
    if kind not in _KINDS:
        raise WrongUsage(f"{output}: name it .csv, .json or .xlsx; that says what it is to be.")
    head = opened.head()
    found = kept(opened, wanted(chosen), head.count)
    if kind == "json":
        return len(found), as_json(found, head)
    return len(found), as_csv(found, head) if kind == "csv" else as_xlsx(found, head)
