"""`certgen register audit`: the proof that a register is what was added to it."""

import gc
from collections.abc import Iterator
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from certgen.cli.io.processes import cores, interruption, pool, starting, waited
from certgen.cli.register.add import require_verified
from certgen.cli.register.where import mind_shares, named, register, register_option
from certgen.cli.signing import trusted
from certgen.cli.verify import quiet
from certgen.errors import CannotCompute, CertgenError, RegisterBroken, WrongUsage
from certgen.findings import escaped

if TYPE_CHECKING:
    from certgen.cli.house import House
    from certgen.register.audit import Audit
    from certgen.register.find import Kept
    from certgen.register.register import Register

_MOST = 50
_MANY = 5000  # entries; for fewer of them another process would take longer to start than it saves
_PATH = click.Path(readable=False, path_type=Path)
_FEWEST = 4  # certificates; for fewer of them another process would take longer to start than to work
_PORTION = 8  # certificates handed to a process at a time


@click.command(
    epilog="""\b
Examples:
  certgen register audit
  certgen register audit --expect 31:9f2c61d04b7e8a35
  certgen register audit --verify --trust authority.pem"""
)
@click.option("--expect", "written", metavar="HEAD", help="A head written down earlier: COUNT:DIGEST.")
@click.option("--verify", "anew", is_flag=True, help="Also compute and print every certificate anew.")
@click.option("--templates", type=_PATH, help="With --verify: the templates that printed them.")
@click.option("--trust", multiple=True, type=_PATH, help="With --verify: as for `certgen verify`.")
@click.option(
    "--jobs", type=click.IntRange(1, 256), help="Processes of --verify; by default one for every core."
)
@register_option()
def command(written: str | None, where: str | None, anew: bool, **how: Any) -> None:
    """Prove that nothing in the register was changed, removed or reordered; exit status 5 where that fails.

    Prints the head, which is the count of entries and the digest that covers them all. Every entry is held
    against the certificate recorded with it: number, revision, verdicts, the survey and the results inside,
    the signatures. With --verify each certificate is also verified as `certgen verify` does it, and all that
    its entry says held against its survey; that takes a second and a core for each. Whoever owns the database
    could write all of it anew, and cut its end off: --expect with a head that was kept elsewhere finds that
    too. It takes the count and at least sixteen digits of the digest. A register that cannot be written is
    read as it stands.
    """
    from certgen.register.entries import written_head

    if not anew and any(how.values()):
        raise WrongUsage("--templates, --trust and --jobs belong to --verify.")
    expected = None if written is None else written_head(written)
    if written is not None and expected is None:
        raise WrongUsage(
            f"--expect: {written} is no head; write COUNT:DIGEST as `certgen register head` prints it, with "
            "at least 16 digits behind the colon."
        )
    found = _of_both(where or named(), expected)
    click.echo(f"head {found.head}")
    _require(found)
    entries = "1 entry" if found.head.count == 1 else f"{found.head.count} entries"
    click.echo(f"{entries}: nothing was changed, removed or reordered.")
    for one in found.disposed:
        click.echo(escaped(f"{one} was disposed of: what it says can no longer be computed."))
    if anew:
        _verify(where or named(), found.head.count, how)


def _of_both(where: str, expected: tuple[int, str] | None) -> "Audit":
    """The audit of entries and files; in a large register each of the two is looked at by a process."""
    from certgen.register.audit import audit

    opened = register(where)
    try:
        is_large = opened.head().count >= _MANY
    except CertgenError:  # the audit says what is wrong
        is_large = False
    if not is_large or cores() == 1:
        return audit(opened, expected)
    try:
        with interruption() as noted, pool(2) as shared:
            with starting():
                files = shared.submit(_files, where)
                entries = shared.submit(_entries, where, expected)
            found, faults = waited(entries, noted), waited(files, noted)
        found.faults += faults
        return found
    except BrokenProcessPool:
        raise CannotCompute("a process that looked at the register was ended from outside.") from None


def _entries(where: str, expected: tuple[int, str] | None) -> "Audit":
    from certgen.register.audit import audit_entries

    gc.disable()  # what is read makes no circles, and looking for some takes a tenth of the time
    return audit_entries(register(where), expected)


def _files(where: str) -> list[str]:
    from certgen.register.audit_files import file_faults

    gc.disable()
    return file_faults(register(where))


def _verify(where: str, last: int, how: dict[str, Any]) -> None:

    asked = Anew(where, last, how["templates"], trusted(how["trust"]))
    found = verified_anew(asked, how["jobs"])
    if found.faults:
        raise RegisterBroken(*_listed(found.faults, "certificates do not hold"))
    click.echo(found.summary())


def require_sound(opened: "Register") -> None:
    """Raise RegisterBroken where a register is not what was added to it: nothing of it is handed on then."""
    from certgen.register.audit import audit

    _require(audit(opened))


def _require(found: "Audit") -> None:
    if not found.holds:
        raise RegisterBroken(*_listed(found.faults, "The register does not hold what was added to it."))


def _listed(faults: list[str], last: str) -> list[str]:
    more = len(faults) - _MOST
    shown = [*faults[:_MOST], *([f"and {more} more"] if more > 0 else [])]
    return [*shown, last]


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
        from certgen.register.entries import DISPOSED
        from certgen.register.intake import take

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
