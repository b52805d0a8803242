"""The lines of a register over several processes: when each is due takes its trend."""

from collections.abc import Generator
from concurrent.futures.process import BrokenProcessPool
from contextlib import closing
from dataclasses import dataclass

from certgen.cli.processes import interruption, pool, starting, waited
from certgen.cli.register.where import mind_shares
from certgen.errors import CannotCompute
from certgen.register.chain import Head
from certgen.register.lines_due import LineDue, followed, line_due
from certgen.register.register import Register
from certgen.survey.intervals import Every

_FEWEST = 8  # lines; for fewer of them another process would take longer to start than to work


@dataclass(frozen=True, slots=True)
class Asked:
    """Which register, up to where it ended, and the interval from survey to survey."""

    where: str
    head: Head
    interval: Every


def every_line(asked: Asked, processes: int) -> list[LineDue]:
    """Return when every line is due; a bar on a terminal says how many are done."""
    from rich.console import Console
    from rich.progress import track

    work, console = _Work(asked), Console(stderr=True)
    with closing(_parts(asked, work, processes)) as coming:
        shown = track(
            coming, "Lines", work.count, console=console, transient=True, disable=not console.is_terminal
        )
        return list(shown)


def _parts(asked: Asked, work: "_Work", processes: int) -> Generator[LineDue, None, None]:
    if processes == 1 or work.count < _FEWEST:
        yield from map(work.line, range(work.count))
        return
    try:
        with interruption() as noted, pool(min(processes, work.count), _begin, asked) as shared:
            with starting():
                coming = [shared.submit(_line, number) for number in range(work.count)]
            for future in coming:
                yield waited(future, noted)
    except BrokenProcessPool:
        raise CannotCompute("a process that worked on the trends was ended from outside.") from None


class _Work:
    """The register opened, with its lines in order."""

    def __init__(self, asked: Asked) -> None:
        mind_shares()
        self._register, self._interval = Register.open(asked.where), asked.interval
        self._lines = followed(self._register, asked.head)

    @property
    def count(self) -> int:
        """How many lines there are."""
        return len(self._lines)

    def line(self, number: int) -> LineDue:
        """Return when a line is due."""
        return line_due(self._register, self._lines[number], self._interval)


_work: _Work | None = None  # of this process


def _begin(asked: Asked) -> None:
    global _work  # what a process of the pool begins with has no other place
    _work = _Work(asked)


def _line(number: int) -> LineDue:
    assert _work is not None  # noqa: S101  # the pool has begun
    return _work.line(number)
