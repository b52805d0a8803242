"""Processes that share work, and end with the first one however it ends: interrupted, asked to, or killed."""

import pickle
import signal
import threading
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import AbstractContextManager, contextmanager
from multiprocessing import connection, get_context, parent_process
from os import _exit
from types import FrameType
from typing import Any

from certgen.cli.homes import need_no_home


@contextmanager
def pool(processes: int, *begins: Any) -> Iterator[ProcessPoolExecutor]:
    """Give a pool; at its end what has begun is finished. `begins` is what each process calls first.

    That is a function and what it takes, none where there is nothing to prepare.
    """
    made = ProcessPoolExecutor(processes, get_context("spawn"), _begin, (pickle.dumps(begins),))
    try:
        yield made
    finally:  # a second interruption in the midst of it would leave it waiting for ever
        with _held_back(signal.SIGINT, signal.SIGTERM):
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


def starting() -> AbstractContextManager[None]:
    """Hold an interruption back while work is handed to a pool, which starts its processes.

    They go on holding it back until they leave it to the first process: one that is still loading is not torn
    up by it.
    """
    return _held_back(signal.SIGINT)


@contextmanager
def _held_back(*numbers: signal.Signals) -> Iterator[None]:
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, numbers)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


@contextmanager
def termination_interrupts() -> Iterator[None]:
    """Whoever asks the process to end gets the same as whoever interrupts it at the terminal."""

    def interrupt(_number: int, _frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, interrupt)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)
