"""`certgen register withdraw`: a certificate that was recorded in error."""

import click

from certgen.cli.register.where import (
    checked_reason,
    now,
    reason_option,
    register,
    register_option,
    revision_option,
    told,
)


@click.command(
    epilog="""\b
Example:
  certgen register withdraw FC-2026-031 --reason "issued for the wrong line; FC-2026-033 is right\""""
)
@click.argument("number")
@revision_option
@reason_option
@register_option()
def command(number: str, revision: int | None, reason: str, where: str | None) -> None:
    """Say that the certificate NUMBER was recorded in error.

    It stays in the register and is shown as withdrawn. It counts no more: no line is followed by it, and what
    it replaced counts again. There is no way back; what was right after all is issued as a new revision.
    """
    from certgen.register.marks import certificates_of, withdraw

    opened, why = register(where), checked_reason(reason)
    of = certificates_of(opened, number, revision)[-1]
    told(withdraw(opened, of, why, now()), "withdrawn")
