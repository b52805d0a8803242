"""Jobs over several processes: each outcome as it comes, none lost to a process that dies."""

from collections.abc import Generator, Iterator, Sequence
from concurrent.futures.process import BrokenProcessPool

from certgen.cli.batch.jobs import Job
from certgen.cli.batch.outcome import Outcome
from certgen.cli.batch.work import do
from certgen.cli.processes import Interruption, ended, pool, starting, waited
from certgen.errors import CannotCompute


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
