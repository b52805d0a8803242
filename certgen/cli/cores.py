"""How many processes are worth starting."""

import os


def cores() -> int:
    """Return the cores this process may use; all there are where the system does not tell."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
