"""How long something keeps the processor busy: what else the machine does at the time does not count."""

from collections.abc import Callable
from time import process_time


def processor_time(work: Callable[[], object]) -> float:
    """Return the seconds of processor time of one call."""
    began = process_time()
    work()
    return process_time() - began
