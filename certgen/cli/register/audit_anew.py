"""Every certificate of a register computed and printed anew, on all cores, and held against its entry."""

from collections.abc import Iterator
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from certgen.cli.cores import cores
from certgen.cli.processes import interruption, pool, starting, waited
from certgen.cli.register.add import require_verified
from certgen.cli.register.where import mind_shares
from certgen.cli.verify import quiet
from certgen.errors import CannotCompute, CertgenError

if TYPE_CHECKING:
    from certgen.cli.house import House
    from certgen.register.find import Kept

_FEWEST = 4  # certificates; for fewer of them another process would take longer to start than to work
_PORTION = 8  # certificates handed to a process at a time


@dataclass(frozen=True, slots=True)
class Anew:
    """Which register, up to which entry, and with what its certificates are verified."""

    where: str
    last: int
    templates: Path | None
    authorities: tuple[bytes, ...]


@dataclass(slots=True)
class Verified:
    """How many certificates were verified, of how many pages were not compared, and what does not hold."""

    verified: int = 0
    unprinted: int = 0
    disposed: int = 0
    faults: list[str] = field(default_factory=list)

    def take(self, other: "Verified") -> None:
        """Add what another process found."""
        self.verified += other.verified
        self.unprinted += other.unprinted
        self.disposed += other.disposed
        self.faults += other.faults

    def summary(self) -> str:
        """Return in a line what was done."""
        more = [f"{self.unprinted} with results verified, pages not compared"] if self.unprinted else []
        more += [f"{self.disposed} disposed of, of which nothing can be computed"] if self.disposed else []
        return "; ".join([f"{self.verified} verified", *more]) + "."


def verified_anew(asked: Anew, jobs: int | None) -> Verified:
    """Return what verifying every certificate gives; a bar on a terminal says how many are done."""
    from rich.console import Console
    from rich.progress import track

    found, work = Verified(), _Work(asked)
    portions = [range(at, min(at + _PORTION, work.count)) for at in range(0, work.count, _PORTION)]
    processes = 1 if work.count < _FEWEST else min(jobs or cores(), len(portions))
    console = Console(stderr=True)
    coming = _shared(asked, portions, processes) if processes > 1 else map(work.portion, portions)
    for each in track(
        coming,
        "Certificates",
        len(portions),
        console=console,
        transient=True,
        disable=not console.is_terminal,
    ):
        found.take(each)
    return found


def _shared(asked: Anew, portions: list[range], processes: int) -> Iterator[Verified]:
    try:
        with interruption() as noted, pool(processes, _begin, asked) as shared:
            with starting():
                coming = [shared.submit(_portion, portion) for portion in portions]
            for future in coming:
                yield waited(future, noted)
    except BrokenProcessPool:
        raise CannotCompute("a process that verified certificates was ended from outside.") from None


class _Work:
    """The register opened, with its certificates in order."""

    def __init__(self, asked: Anew) -> None:
        from certgen.cli.house import house_in
        from certgen.register.find import Wanted, kept
        from certgen.register.register import Register

        quiet()
        mind_shares()
        self._asked = asked
        self._house: House = house_in(asked.templates)
        self._register = Register.open(asked.where)
        self._kept: list[Kept] = kept(self._register, Wanted(), asked.last)

    @property
    def count(self) -> int:
        """How many certificates there are."""
        return len(self._kept)

    def portion(self, which: range) -> Verified:
        """Return what verifying some of them gives."""
        found = Verified()
        for place in which:
            self._one(self._kept[place], found)
        return found

    def _one(self, kept: "Kept", found: Verified) -> None:
        from certgen.register.bodies import DISPOSED
        from certgen.register.take import take

        if kept.marked(DISPOSED):
            found.disposed += 1
            return
        named = f"certificate {kept.said['number']}, revision {kept.said['revision']}"
        name = f"entry {kept.body['sequence']}: {named}"
        try:
            data = self._register.file(kept.pdf)
            answer = require_verified(
                Path(name), data, self._house, self._asked.authorities, accept_unprinted=True
            )
            odd = list(_otherwise(kept.said, take(name, data).certificate))
        except CertgenError as error:
            found.faults.append(f"{error}" if f"{error}".startswith(name) else f"{name}: {error}")
            return
        found.faults += [f"{name}: {text}" for text in odd]
        found.verified += answer == "verified" and not odd
        found.unprinted += answer != "verified" and not odd


def _otherwise(said: Any, one: Any) -> Iterator[str]:
    """What an entry says otherwise than the survey; one of an earlier certgen says less."""
    from dataclasses import asdict

    for key, value in asdict(one).items():
        plain = list(value) if isinstance(value, tuple) else value
        if key in said and said[key] != plain:
            yield f"says {key.replace('_', ' ')} {said[key]!r}, and its survey {plain!r}"


_work: _Work | None = None  # of this process


def _begin(asked: Anew) -> None:
    global _work  # what a process of the pool begins with has no other place
    _work = _Work(asked)


def _portion(which: range) -> Verified:
    assert _work is not None  # noqa: S101  # the pool has begun
    return _work.portion(which)
