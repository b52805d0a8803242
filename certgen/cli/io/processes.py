"""Processes that share work, and end with the first one however it ends: interrupted, asked to, or killed."""

import os
import pickle
import signal
import threading
from collections.abc import Collection, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager, suppress
from multiprocessing import connection, get_context, parent_process
from os import _exit
from queue import Empty, SimpleQueue
from types import FrameType
from typing import Any, TypeVar

from certgen.cli.io.library_settings import need_no_home

T = TypeVar("T")
_MOMENT = 0.1  # seconds until an interruption is looked for


def cores() -> int:
    """Return the cores this process may use; all there are where the system does not tell."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@contextmanager
def pool(processes: int, *begins: Any) -> Iterator[ProcessPoolExecutor]:
    """Give a pool; at its end what has begun is finished. `begins` is what each process calls first.

    That is a function and what it takes, none where there is nothing to prepare.
    """
    made = ProcessPoolExecutor(processes, get_context("spawn"), _begin, (pickle.dumps(begins),))
    try:
        yield made
    finally:
        made.shutdown(wait=True, cancel_futures=True)


def _begin(begins: bytes) -> None:
    """Leave an interruption to the first process, and end at once where that is gone; then load the rest."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent.sentinel,), daemon=True).start()
    need_no_home()
    called = pickle.loads(begins)  # noqa: S301  # it comes from `pool`
    if called:
        called[0](*called[1:])


def _end_with(sentinel: int) -> None:
    connection.wait([sentinel])
    _exit(1)


@contextmanager
def starting() -> Iterator[None]:
    """Hold an interruption back while work is handed to a pool, which starts its processes.

    They go on holding it back until they leave it to the first process: one that is still loading is not torn
    up by it.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, (signal.SIGINT,))
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


class Interruption:
    """Whether somebody has asked for an end; it is raised only where nothing is half done."""

    def __init__(self) -> None:
        self.asked = False

    def note(self, _number: int, _frame: FrameType | None) -> None:
        """Take the signal that asks for it."""
        self.asked = True

    def check(self) -> None:
        """Raise KeyboardInterrupt where it was asked for."""
        if self.asked:
            raise KeyboardInterrupt


@contextmanager
def interruption() -> Iterator[Interruption]:
    """Note who interrupts at the terminal or asks the process to end, once or often.

    Raised wherever it arrives, an interruption could break a lock in two that another thread holds.
    """
    noted = Interruption()
    before = {number: signal.signal(number, noted.note) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield noted
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def ended(futures: Collection["Future[T]"], noted: Interruption) -> Iterator["Future[T]"]:
    """Yield futures as they end; KeyboardInterrupt soon after an interruption."""
    done: SimpleQueue[Future[T]] = SimpleQueue()
    for future in futures:
        future.add_done_callback(done.put)
    for _ in futures:
        yield _next(done, noted)


def _next(done: "SimpleQueue[Future[T]]", noted: Interruption) -> "Future[T]":
    while True:
        noted.check()
        with suppress(Empty):
            return done.get(timeout=_MOMENT)


def waited(future: "Future[T]", noted: Interruption) -> T:
    """Return what a future gives; KeyboardInterrupt soon after an interruption."""
    (one,) = ended((future,), noted)
    return one.result()
