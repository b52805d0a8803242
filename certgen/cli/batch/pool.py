"""Jobs over several processes: each outcome as it comes, none lost to a process that dies."""

import signal
from collections.abc import Generator, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import get_context
from types import FrameType

from certgen.cli.batch.jobs import Job
from certgen.cli.batch.outcome import Outcome
from certgen.cli.batch.work import begin, do
from certgen.errors import CannotCompute


def outcomes(jobs: Sequence[Job], processes: int) -> Generator[Outcome, None, None]:
    """Yield the outcome of every job; interrupted, what has begun is finished and the rest left.

    Where a process dies, every job without an outcome is done once more with a process to itself, so that
    only the one that kills its process fails.
    """
    left = dict(enumerate(jobs))
    with _termination_interrupts():
        try:
            yield from _together(left, min(processes, len(jobs)))
        except BrokenProcessPool:
            yield from (_alone(job) for job in left.values())


def _together(left: dict[int, Job], processes: int) -> Iterator[Outcome]:
    if not left:
        return
    pool = _pool(processes)
    try:
        with _held_back(signal.SIGINT):
            running = {pool.submit(do, job): number for number, job in left.items()}
        for future in as_completed(running):
            outcome = future.result()
            del left[running[future]]
            yield outcome
    finally:
        _finish(pool)


def _alone(job: Job) -> Outcome:
    pool = _pool(1)
    try:
        with _held_back(signal.SIGINT):
            running = pool.submit(do, job)
        return running.result()
    except BrokenProcessPool:
        text = "the process that worked on it was ended from outside, or ran out of memory."
        return Outcome(str(job.file), "failed", CannotCompute.exit_code, text)
    finally:
        _finish(pool)


def _pool(processes: int) -> ProcessPoolExecutor:
    return ProcessPoolExecutor(processes, get_context("spawn"), begin)


def _finish(pool: ProcessPoolExecutor) -> None:
    """Wait for what has begun; a second interruption in the midst of it would leave it waiting for ever."""
    with _held_back(signal.SIGINT, signal.SIGTERM):
        pool.shutdown(wait=True, cancel_futures=True)


@contextmanager
def _held_back(*numbers: signal.Signals) -> Iterator[None]:
    """Hold signals back until afterwards.

    Processes that start meanwhile go on holding them back: one that is still loading is not torn up by them.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, numbers)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


@contextmanager
def _termination_interrupts() -> Iterator[None]:
    """Whoever asks the process to end gets the same as whoever interrupts it at the terminal."""

    def interrupt(_number: int, _frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, interrupt)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)
