"""Jobs over several processes: each outcome as it comes, a line for each, twins among them named."""

import sys
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, Sequence
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TimeRemainingColumn

from certgen.cli.batch.jobs import Job, Outcome
from certgen.cli.batch.work import do
from certgen.cli.io.messages import below
from certgen.cli.io.processes import Interruption, ended, pool, starting, waited
from certgen.errors import CannotCompute, SurveyRefused, WrongUsage
from certgen.findings import Finding
from certgen.survey.load import Identity, identity

Tell = Callable[[Outcome], None]
_HINT = "Give each survey a number of its own, a new issue of the same one its next revision."
_NAMES = "Give each survey a name of its own."


@contextmanager
def progress(total: int) -> Iterator[Tell]:
    """Give what tells an outcome; lines go to the standard output, the bar to the standard error.

    Where both are the terminal, whoever draws the bar writes the lines too, so that they stand above it.
    """
    console = Console(file=below(sys.stderr))
    columns = (BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task("", total=total)

        def tell(outcome: Outcome) -> None:
            if console.is_terminal and sys.stdout.isatty():
                console.print(outcome.line(), markup=False, highlight=False, emoji=False, soft_wrap=True)
            else:
                click.echo(outcome.line())
            bar.advance(task)

        yield tell


def twins(jobs: Iterable[Job]) -> dict[Path, Outcome]:
    """Return the outcome of every survey that another one stands in the way of: it is refused.

    They share number and revision, or would be written as the same file. Which of them is the one that may is
    not for certgen to guess, so none of them is issued.
    """
    every = tuple(jobs)
    return {**dict(_of_one_number(every)), **dict(_of_one_file(every))}


def _of_one_number(jobs: Iterable[Job]) -> Iterator[tuple[Path, Outcome]]:
    named = {job.file: found for job in jobs if (found := _identity(job.file)) is not None}
    for files in _alike((one.number, one.revision, file) for file, one in named.items()):
        yield from ((file, _refused(file, files, named)) for file in files)


def _of_one_file(jobs: Iterable[Job]) -> Iterator[tuple[Path, Outcome]]:
    targets = {job.file: job.target for job in jobs}
    for files in _alike((target, file) for file, target in targets.items()):
        for file in files:
            text = (
                f"{file}: would be issued as {targets[file]}, and so would {_others(file, files)}. {_NAMES}"
            )
            yield file, Outcome(str(file), "failed", WrongUsage.exit_code, text)


def _alike(rows: Iterable[tuple[Any, ...]]) -> list[list[Path]]:
    """The files that share all that stands before them in their row, where there are several."""
    alike: dict[tuple[Any, ...], list[Path]] = {}
    for *shared, file in rows:
        alike.setdefault(tuple(shared), []).append(file)
    return [files for files in alike.values() if len(files) > 1]


def _identity(file: Path) -> Identity | None:
    """What cannot be read is told by the work on it."""
    with suppress(OSError):
        return identity(str(file), file.read_bytes())
    return None


def _refused(file: Path, files: Iterable[Path], named: Mapping[Path, Identity]) -> Outcome:
    one = named[file]
    message = f"certificate {one.number}, revision {one.revision}, stands in {_others(file, files)} as well"
    finding = Finding("error", one.place, "certificate.number", message, _HINT)
    return Outcome(str(file), "failed", SurveyRefused.exit_code, str(SurveyRefused(str(file), (finding,))))


def _others(file: Path, files: Iterable[Path]) -> str:
    return ", ".join(str(other) for other in files if other != file)


def outcomes(jobs: Sequence[Job], processes: int, noted: Interruption) -> Generator[Outcome, None, None]:
    """Yield the outcome of every job; interrupted, what has begun is finished and the rest left.

    Where a process dies, every job without an outcome is done once more with a process to itself, so that
    only the one that kills its process fails.
    """
    left = dict(enumerate(jobs))
    try:
        yield from _together(left, min(processes, len(jobs)), noted)
    except BrokenProcessPool:
        yield from (_alone(job, noted) for job in left.values())


def _together(left: dict[int, Job], processes: int, noted: Interruption) -> Iterator[Outcome]:
    if not left:
        return
    with pool(processes) as made:
        with starting():
            running = {made.submit(do, job): number for number, job in left.items()}
        for future in ended(running, noted):
            outcome = future.result()
            del left[running[future]]
            yield outcome


def _alone(job: Job, noted: Interruption) -> Outcome:
    try:
        with pool(1) as made:
            with starting():
                running = made.submit(do, job)
            return waited(running, noted)
    except BrokenProcessPool:
        text = "the process that worked on it was ended from outside, or ran out of memory."
        return Outcome(str(job.file), "failed", CannotCompute.exit_code, text)
