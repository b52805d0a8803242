"""The parts of a site over several processes: each makes whole lines, which need nothing of one another."""

from collections.abc import Generator
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass

from certgen.cli.house import House
from certgen.cli.processes import interruption, pool, starting, waited
from certgen.errors import CannotCompute
from certgen.register.chain import Head
from certgen.register.register import Register
from certgen.register.site.site import Part, Site, Wish, site

_FEWEST = 4  # lines; for fewer of them another process would take longer to start than to work


@dataclass(frozen=True, slots=True)
class How:
    """What it takes to make the same site in another process."""

    where: str
    wish: Wish
    house: House
    language: str | None

    def site(self, head: Head | None = None) -> Site:
        """Return the site of the register as it ended at that head, or as it ends now."""
        return site(Register.open(self.where), self.wish, self.house.wording(self.language), head)


def parts(how: How, made: Site, processes: int) -> Generator[Part, None, None]:
    """Yield the part of every line in their order; CannotCompute where a process was ended from outside."""
    lines = made.held.lines
    if processes == 1 or len(lines) < _FEWEST:
        yield from map(made.part, lines)
        return
    try:
        with (
            interruption() as noted,
            pool(min(processes, len(lines)), _begin, how, made.held.head) as shared,
        ):
            with starting():
                coming = [shared.submit(_part, number) for number in range(len(lines))]
            for future in coming:
                yield waited(future, noted)
    except BrokenProcessPool:
        raise CannotCompute("a process that worked on the site was ended from outside.") from None


_made: Site | None = None  # of this process


def _begin(how: How, head: Head) -> None:
    global _made  # what a process of the pool begins with has no other place
    _made = how.site(head)


def _part(number: int) -> Part:
    assert _made is not None  # noqa: S101  # the pool has begun
    return _made.part(_made.held.lines[number])
