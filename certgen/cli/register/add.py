"""`certgen register add`: certificates as PDF into a register, also at the moment of issue."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from certgen.cli.house import House, house_in
from certgen.cli.io.messages import tell
from certgen.cli.register.where import named, now, register, register_option
from certgen.cli.signing import trusted
from certgen.cli.survey_input import fetch
from certgen.cli.verify import checks, quiet
from certgen.errors import AlreadyRegistered, CertgenError, NotCompared, NotVerified, WrongUsage
from certgen.register.tables import LARGEST_PDF, require_size
from certgen.verify.compare_contents import Answer, answer

if TYPE_CHECKING:
    from certgen.register.entries import Held
    from certgen.register.register import Register

Keep = Callable[[Path, bytes], bytes]


def keep_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options by which a command records what it issues: `where` and `record`."""
    record = click.option("--record", is_flag=True, help="Record it in the register that is set up here.")
    return register_option("Record it in this register: a folder or postgresql://...")(record(function))


def keeper(where: str | None, record: bool) -> Keep:
    """Return what records a certificate and gives the bytes to write; does nothing where none was asked for.

    The register is opened here, so that one that cannot be reached is told before anything is computed.
    A certificate is recorded before its file is written: what was handed out is always in the register, and
    the same command run again after an interruption finds it there and writes the file.
    """
    if where is not None and record:
        raise WrongUsage(
            "--record means the register that is set up here, --register names one: pass either."
        )
    if where is None and not record:
        return lambda _target, pdf: pdf
    opened = register(where or named(), create=True)
    return lambda target, pdf: _kept(opened, target, pdf)


def _kept(opened: "Register", target: Path, pdf: bytes) -> bytes:
    from certgen.register.intake import take

    held = take(str(target), pdf)
    try:
        added = opened.add(held, now())
    except AlreadyRegistered:
        recorded = opened.recorded(held.certificate)
        # whether both are one certificate that was signed twice: a signature holds the time it was made
        from certgen.verify.issued_file import carried

        one, other = carried(recorded), carried(pdf)
        same_but_for_the_day = one.base == other.base and bool(one.appended) and bool(other.appended)
        if not same_but_for_the_day:
            raise
        click.echo("register: there already, signed before; that one is written", err=True)
        return recorded
    how = "entry" if added.new else "there already as entry"
    signs = "" if added.signs is None else f", the signed form of entry {added.signs}"
    click.echo(f"register: {how} {added.sequence}{signs}, head {added.head}", err=True)
    return pdf


@dataclass(frozen=True, slots=True)
class Trusting:
    """What certificates are verified with: the templates that printed them, authorities to trust.

    `unprinted`: those are taken as well whose pages cannot be printed anew and compared. `largest` is how
    many bytes a PDF may have.
    """

    templates: Path | None = None
    authorities: tuple[bytes, ...] = ()
    unprinted: bool = False
    largest: int = LARGEST_PDF


@click.command(
    epilog="""\b
Examples:
  certgen register add FC-2026-031.pdf
  certgen register add certificates/*.pdf --register postgresql://certgen@archive.example/certificates"""
)
@click.argument("files", nargs=-1, required=True, type=click.Path(readable=False, path_type=Path))
@click.option(
    "--templates", type=click.Path(readable=False, path_type=Path), help="The templates that printed them."
)
@click.option(
    "--trust", multiple=True, type=click.Path(readable=False, path_type=Path), help="As for `certgen verify`."
)
@click.option(
    "--accept-unprinted",
    "unprinted",
    is_flag=True,
    help="Also take those whose pages cannot be printed anew and compared; their entries say so.",
)
@click.option(
    "--max-size",
    type=click.FloatRange(0.001, 50),
    default=20,
    show_default=True,
    metavar="MB",
    help="The largest PDF that is taken.",
)
@register_option("The register, made where it is missing: a folder or postgresql://...")
def command(files: tuple[Path, ...], where: str | None, **how: Any) -> None:
    """Verify the certificates FILES and add each of them, whole or not at all.

    A register that is missing is made for the first of them that is sound. One that is there already is left
    as it is; one that was signed since is added as the signed form of it. With --trust only those are added
    that are signed by somebody whom these authorities know. One whose results hold and whose pages cannot be
    compared is refused (exit status 6), unless --accept-unprinted takes it. One that is refused does not
    stop the others; the exit status is the highest one of any file. At the end the head of the register is
    printed: write it down, and `certgen register audit --expect` proves later that nothing before it is
    missing.
    """
    quiet()
    trusting = Trusting(how["templates"], trusted(how["trust"]), how["unprinted"], int(how["max_size"] * 1e6))
    adding = _Adding(where or named(), trusting)
    status = max(adding.one(file) for file in files)
    if adding.opened is not None:
        click.echo(f"head {adding.opened.head()}")
    raise click.exceptions.Exit(status)


@dataclass(slots=True)
class _Adding:
    """What is added to the register at `at`, which is opened for the first certificate that is sound."""

    at: str
    trusting: Trusting
    opened: "Register | None" = None

    def one(self, file: Path) -> int:
        """Add a file; return its exit status. Only what is wrong with the register itself is raised."""
        try:
            from certgen.register.intake import take

            data = fetch(file)
            require_size(len(data), self.trusting.largest)
            house = house_in(self.trusting.templates)
            answer = require_verified(
                file, data, house, self.trusting.authorities, accept_unprinted=self.trusting.unprinted
            )
            held = replace(take(str(file), data), unprinted=answer != "verified")
        except CertgenError as error:
            return _refused(file, error)
        self.opened = self.opened or register(self.at, create=True)
        try:
            tell(_added(self.opened, file, held, self.trusting.largest))
        except CertgenError as error:
            return _refused(file, error)
        return 0


def _refused(file: Path, error: CertgenError) -> int:
    # what went wrong, with the file it went wrong with
    text = str(error)
    naming = text if text.startswith(f"{file}:") else f"{file}: {text}"
    click.echo(naming, err=True)
    return error.exit_code


def _added(opened: "Register", file: Path, held: "Held", largest: int) -> str:
    added = opened.add(held, now(), largest)
    one = held.certificate
    how = "added as" if added.new else "is there already as"
    signs = "" if added.signs is None else f", the signed form of entry {added.signs}"
    return f"{file}: certificate {one.number}, revision {one.revision}, {how} entry {added.sequence}{signs}"


def require_verified(
    file: Path,
    data: bytes,
    house: House,
    authorities: tuple[bytes, ...] = (),
    *,
    accept_unprinted: bool = False,
) -> Answer:
    """Return how the verification of a certificate came out, where it is good enough to be recorded.

    Raises NotVerified where the certificate does not say what its survey gives, or was changed; NotCompared
    where its pages could not be printed anew and compared, unless those are accepted as well.
    """
    try:
        found = checks(data, house, authorities)
    except NotVerified as error:
        raise NotVerified(f"{file}: {error}") from None
    wrong = [check.text for check in found if check.outcome == "differs"]
    if wrong:
        raise NotVerified(f"{file}: {'. '.join(wrong)}. Run: certgen verify {file}")
    open_ = [". ".join((check.text, *check.details)) for check in found if check.outcome == "not compared"]
    if open_ and not accept_unprinted:
        raise NotCompared(f"{file}: {'. '.join(open_)}. Run: certgen verify {file}")
    return answer(found)
