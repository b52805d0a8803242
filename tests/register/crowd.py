"""Many processes at one register: `python -m tests.register.crowd WHERE NAME COUNT` is one of them."""

import subprocess
import sys
from pathlib import Path

from certgen.register.register import Register
from tests.register.fakes import WHEN, small

ROOT = Path(__file__).parent.parent.parent


def crowd(where: str, processes: int, total: int) -> list[str]:
    """Have `total` certificates added by so many processes; return the numbers that were handed out."""
    each, rest = divmod(total, processes)
    counts = [each + (index < rest) for index in range(processes)]
    running = [_start(where, f"{index}", str(count)) for index, count in enumerate(counts)]
    printed = [process.communicate(timeout=300) for process in running]
    assert [process.returncode for process in running] == [0] * processes, [err for _, err in printed]
    return [number for out, _ in printed for number in out.split()]


def _start(*arguments: str) -> "subprocess.Popen[str]":
    command = [sys.executable, "-m", "tests.register.crowd", *arguments]
    return subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def add_some(where: str, who: str, count: int) -> None:
    """Reserve a number, print it, add its certificate, and so on."""
    register = Register.open(where, create=True)
    for _ in range(count):
        number = register.reserve("N-", WHEN)
        sys.stdout.write(f"{number}\n")
        register.add(small(number, location=f"Hall {who}"), WHEN)


if __name__ == "__main__":
    add_some(sys.argv[1], sys.argv[2], int(sys.argv[3]))
