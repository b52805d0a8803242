"""`certgen batch`: a folder of files, each done as its own command would do it."""

import os
from collections import Counter
from collections.abc import Sequence
from contextlib import closing
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from certgen.cli.batch.jobs import Job, Outcome, State, issue_jobs, verify_jobs
from certgen.cli.io.processes import cores
from certgen.cli.io.write import require_name
from certgen.cli.register.add import keep_options
from certgen.cli.register.where import register
from certgen.errors import CannotWrite, WrongUsage

if TYPE_CHECKING:
    from certgen.cli.io.processes import Interruption

_INTERRUPTED = 130
_ORDER: tuple[State, ...] = ("issued", "verified", "accepted", "unchanged", "failed")


@click.command(
    epilog="""\b
Examples:
  certgen batch surveys -o certificates
  certgen batch surveys -o certificates --register register --jobs 4
  certgen batch --verify certificates -o verified"""
)
@click.argument("folder", type=click.Path(readable=False, path_type=Path))
@click.option("--verify", is_flag=True, help="Verify the certificates in DIR instead.")
@click.option(
    "-o", "--output", type=click.Path(readable=False, path_type=Path), help="The folder to write into."
)
@click.option("--replace", is_flag=True, help="Replace the certificate of a survey that has changed.")
@click.option("--jobs", type=click.IntRange(1, 256), help="Processes; by default one for every core.")
@click.option(
    "--accept-unprinted",
    is_flag=True,
    help="With --verify: accept results that hold where the pages cannot be compared.",
)
@keep_options
def command(folder: Path, verify: bool, output: Path | None, jobs: int | None, **more: Any) -> None:
    """Issue the certificate of every survey in the folder FOLDER, or verify every certificate in it.

    Without -o certificates stand beside their surveys. With --verify, -o names a folder for one report in
    JSON for each certificate. One bad file never stops the rest. It may be interrupted at any moment and run
    again: a certificate that carries this very survey, or that was verified as it is by this certgen, is
    skipped. Surveys that share a number and a revision, or that would be written as the same file, are
    refused, each of them. A certificate whose results hold but whose pages cannot be compared (see
    `certgen verify`) fails with status 6 unless --accept-unprinted is given. The exit status is the
    highest one of any file.
    """
    if os.path.isfile(folder):  # noqa: PTH113  # which no name is too long for
        raise WrongUsage(
            f"{folder}: this is a file. Name the folder, or do this one with certgen issue or verify."
        )
    if not os.path.isdir(folder):  # noqa: PTH112  # likewise
        raise WrongUsage(f"{folder}: there is no such folder.")
    if not verify and more["accept_unprinted"]:
        raise WrongUsage("--accept-unprinted goes with --verify.")
    if not verify:
        work = issue_jobs(folder, output, more)
    else:
        if more["replace"] or more["where"] or more["record"]:
            raise WrongUsage("--verify writes no certificate: leave out --replace, --register and --record.")
        work = verify_jobs(folder, output, more["accept_unprinted"])
    if output is not None:
        require_name(output)
        try:
            output.mkdir(parents=True, exist_ok=True)
        except FileExistsError:
            raise CannotWrite(output, "this is a file. Name a folder.") from None
        except OSError as error:
            raise CannotWrite(output, f"cannot be made: {error.strerror or error}.") from None
    # a register that cannot be reached is told once, and not for every file
    where = next((job.where for job in work if job.where is not None), None)
    if where is not None:
        register(where, create=True)
    from certgen.cli.io.processes import interruption

    with interruption() as noted:
        outcomes, interrupted = _run(work, jobs or cores(), noted)
        total = len(work)
        counts = Counter(one.state for one in outcomes)
        told = ", ".join(f"{counts[state]} {state}" for state in _ORDER if counts[state])
        left = f"interrupted, {total - len(outcomes)} not done. Run it again to go on" if interrupted else ""
        click.echo(f"{'; '.join(filter(None, (told, left))) or 'nothing to do'}.")
    status = _INTERRUPTED if interrupted else max((one.status for one in outcomes), default=0)
    raise click.exceptions.Exit(status)


def _run(work: Sequence[Job], processes: int, noted: "Interruption") -> tuple[list[Outcome], bool]:
    """The outcomes in the order in which they came, and whether the run was interrupted."""
    from certgen.cli.batch.pool import outcomes, progress, twins

    done: list[Outcome] = []
    try:
        refused = twins(job for job in work if not job.verify)
        rest = [job for job in work if job.file not in refused]
        with progress(len(work)) as tell, closing(outcomes(rest, processes, noted)) as coming:
            for outcome in chain(refused.values(), coming):
                done.append(outcome)
                tell(outcome)
    except KeyboardInterrupt:
        return done, True
    return done, False
