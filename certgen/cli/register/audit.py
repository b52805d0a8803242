"""`certgen register audit`: the proof that a register is what was added to it."""

import gc
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from certgen.cli.cores import cores
from certgen.cli.processes import interruption, pool, starting, waited
from certgen.cli.register.where import named, register, register_option
from certgen.cli.trust import trusted
from certgen.errors import CannotCompute, CertgenError, RegisterBroken, WrongUsage
from certgen.findings import escaped

if TYPE_CHECKING:
    from certgen.register.audit import Audit
    from certgen.register.register import Register

_MOST = 50
_MANY = 5000  # entries; for fewer of them another process would take longer to start than it saves
_PATH = click.Path(readable=False, path_type=Path)


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
    from certgen.register.chain import written_head

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
    from certgen.cli.register.audit_anew import Anew, verified_anew

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
