"""`certgen register audit`: the proof that a register is what was added to it."""

from typing import TYPE_CHECKING

import click

from certgen.cli.register.where import register, register_option
from certgen.errors import RegisterBroken, WrongUsage

if TYPE_CHECKING:
    from certgen.register.audit import Audit
    from certgen.register.register import Register

_MOST = 50


@click.command(
    epilog="""\b
Examples:
  certgen register audit
  certgen register audit --expect 31:9f2c61d04b7e8a35"""
)
@click.option("--expect", "written", metavar="HEAD", help="A head written down earlier: COUNT:DIGEST.")
@register_option()
def command(written: str | None, where: str | None) -> None:
    """Prove that nothing in the register was changed, removed or reordered; exit status 5 where that fails.

    Prints the head, which is the count of entries and the digest that covers them all. Whoever owns the
    database could write all of it anew, and cut its end off: --expect with a head that was kept elsewhere
    finds that too. At least eight digits of the digest are needed. A register that cannot be written is read
    as it stands.
    """
    from certgen.register.audit import audit
    from certgen.register.chain import written_head

    expected = None if written is None else written_head(written)
    if written is not None and expected is None:
        raise WrongUsage(
            f"--expect: {written} is no head; write COUNT:DIGEST as `certgen register audit` does."
        )
    found = audit(register(where), expected)
    click.echo(f"head {found.head}")
    _require(found)
    entries = "1 entry" if found.head.count == 1 else f"{found.head.count} entries"
    click.echo(f"{entries}: nothing was changed, removed or reordered.")


def require_sound(opened: "Register") -> None:
    """Raise RegisterBroken where a register is not what was added to it: nothing of it is handed on then."""
    from certgen.register.audit import audit

    _require(audit(opened))


def _require(found: "Audit") -> None:
    if not found.holds:
        raise RegisterBroken(_listed(found.faults))


def _listed(faults: list[str]) -> str:
    more = len(faults) - _MOST
    shown = [*faults[:_MOST], *([f"and {more} more"] if more > 0 else [])]
    return "\n".join((*shown, "The register does not hold what was added to it."))
