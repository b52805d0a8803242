"""`certgen register site`: a register as a web site that needs no network."""

from collections.abc import Generator
from concurrent.futures.process import BrokenProcessPool
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from certgen.cli.house import House
from certgen.cli.house_options import house_options
from certgen.cli.io.messages import tell
from certgen.cli.io.processes import cores, interruption, pool, starting, waited
from certgen.cli.io.write import require_name
from certgen.cli.register.audit import require_sound
from certgen.cli.register.where import filter_options, named, register, register_option, wanted
from certgen.errors import CannotCompute, CannotWrite
from certgen.register.entries import Head
from certgen.register.register import Register
from certgen.register.site.site import Part, Site, Wish, site

if TYPE_CHECKING:
    from certgen.cli.house import House
    from certgen.register.site.site import Site, Wish

_FEWEST = 4  # lines; for fewer of them another process would take longer to start than to work


@click.command(
    epilog="""\b
Examples:
  certgen register site site --register certificates
  certgen register site larkfield --customer "Larkfield Nonwovens" --every "6 months" --lang de
  certgen register site site --without-files --replace"""
)
@click.argument("out", type=click.Path(readable=False, path_type=Path))
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), metavar="DAY", help="By default today.")
@click.option("--every", "interval", default="12 months", show_default=True, help="From survey to survey.")
@click.option("--without-files", is_flag=True, help="Leave out the PDFs, surveys and results.")
@click.option("--replace", is_flag=True, help="Replace a site that exists.")
@click.option("--jobs", type=click.IntRange(1, 256), help="Processes; by default one for every core.")
@filter_options
@house_options
@register_option()
def command(out: Path, where: str | None, replace: bool, **options: Any) -> None:
    """Write the register as a web site into the folder OUT.

    Open OUT/index.html in a browser, from a disk or any web server: all lines and certificates with a search
    in the page, a page for each with its trend or its results, and the certificates themselves. Nothing is
    loaded from elsewhere. With a filter, only what fits is in the site. The register is audited first. The
    day --on is that of due dates; what is in the register then is in the site, whatever its day.
    """
    from certgen.cli.io.write import write_folder
    from certgen.register.site.site import ABOUT

    # say what is wrong with a folder before anything is computed
    require_name(out)
    if (out / ABOUT).is_file() and not replace:
        raise CannotWrite(out, "there is a site here. To replace it, pass --replace.")
    if out.exists() and not out.is_dir():
        raise CannotWrite(out, "this is a file. Name a folder.")
    if out.is_dir() and not (out / ABOUT).is_file() and any(out.iterdir()):
        raise CannotWrite(out, "this folder holds something else. Name one that is empty, or a new one.")
    jobs, language = options.pop("jobs"), options.pop("language")
    # the style that certgen.toml in this folder states
    templates = options.pop("templates")
    from certgen.cli.house import BESIDE, house_of

    house = house_of(Path(BESIDE), templates)
    how = How(where or named(), _wish(options), house, language)
    require_sound(register(how.where))
    made = how.site()
    with closing(_told(how, made, jobs or cores())) as files:  # interrupted, nothing more of it is made
        write_folder(out, files, ABOUT if replace else None)
    shown = (_counted(len(made.held.lines), "line"), _counted(len(made.held.certificates), "certificate"))
    tell(f"Wrote {' and '.join(shown)} into {out}. Open {out / 'index.html'}.")


def _wish(options: dict[str, Any]) -> "Wish":
    from certgen.register.due import every
    from certgen.register.site.site import Wish

    day = (options.pop("on") or datetime.now(UTC)).date()
    interval, linked = every(options.pop("interval")), not options.pop("without_files")
    return Wish(wanted(options), day, interval, linked)


def _told(how: "How", made: "Site", processes: int) -> Generator[tuple[str, bytes], None, None]:
    """Yield the files; on a terminal a bar says how many lines are done."""
    from rich.console import Console
    from rich.progress import track

    console, rows, total = Console(stderr=True), [], len(made.held.lines)
    with closing(parts(how, made, processes)) as coming:
        for part in track(
            coming, "Lines", total, console=console, transient=True, disable=not console.is_terminal
        ):
            rows.append(part.row)
            yield from part.files
    yield from made.overview(rows)


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


@dataclass(frozen=True, slots=True)
class How:
    """What it takes to make the same site in another process."""

    where: str
    wish: Wish
    house: House
    language: str | None

    def site(self, head: Head | None = None) -> Site:
        """Return the site of the register as it ended at that head, or as it ends now."""
        return site(Register.open(self.where), self.wish, self.house.wording(self.language), head)


def parts(how: How, made: Site, processes: int) -> Generator[Part, None, None]:
    """Yield the part of every line in their order; CannotCompute where a process was ended from outside."""
    lines = made.held.lines
    if processes == 1 or len(lines) < _FEWEST:
        yield from map(made.part, lines)
        return
    try:
        with (
            interruption() as noted,
            pool(min(processes, len(lines)), _begin, how, made.held.head) as shared,
        ):
            with starting():
                coming = [shared.submit(_part, number) for number in range(len(lines))]
            for future in coming:
                yield waited(future, noted)
    except BrokenProcessPool:
        raise CannotCompute("a process that worked on the site was ended from outside.") from None


_made: Site | None = None  # of this process


def _begin(how: How, head: Head) -> None:
    global _made  # what a process of the pool begins with has no other place
    _made = how.site(head)


def _part(number: int) -> Part:
    assert _made is not None  # noqa: S101  # the pool has begun
    return _made.part(_made.held.lines[number])
