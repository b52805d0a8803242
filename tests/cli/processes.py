"""Watching the processes of a run."""

import time
from collections.abc import Callable
from pathlib import Path


def workers(process: int) -> list[int]:
    """Return the processes that share the work of a run."""
    children = Path(f"/proc/{process}/task/{process}/children").read_text("ascii").split()
    return [int(child) for child in children if b"spawn_main" in Path(f"/proc/{child}/cmdline").read_bytes()]


def wait_until(true: Callable[[], bool]) -> None:
    """Wait for something, a minute at most."""
    until = time.monotonic() + 60
    while not true():
        assert time.monotonic() < until
        time.sleep(0.05)
