"""What a site shows of a register: its certificates, and the lines they are of."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import sha256

from certgen.register.bodies import DISPOSED, WITHDRAWN
from certgen.register.chain import Head
from certgen.register.entry import Certificate, certificate_of, key
from certgen.register.find import Kept, Wanted, kept
from certgen.register.folder import pdf_name
from certgen.register.register import Register


@dataclass(frozen=True, slots=True)
class Listed:
    """A certificate as its entry says it. `name` is that of its page and of its files, without a suffix.

    `replaced_by` is None where nothing replaces it; `signed` says when its signed form was recorded, where
    that was done after it had been recorded itself. `marks` are later entries on it: kind and reason.
    """

    sequence: int
    recorded: str
    certificate: Certificate
    name: str
    sha256: dict[str, str]
    replaced_by: str | None
    signed: str | None
    marks: tuple[tuple[str, str], ...] = ()

    @property
    def counts(self) -> bool:
        """Whether no other certificate of the register replaces it and nobody withdrew it."""
        return self.replaced_by is None and not self.is_marked(WITHDRAWN)

    @property
    def kept(self) -> bool:
        """Whether its files are still there."""
        return not self.is_marked(DISPOSED)

    def is_marked(self, kind: str) -> bool:
        """Return whether a later entry of that kind speaks of it."""
        return any(one == kind for one, _ in self.marks)

    @property
    def page(self) -> str:
        """Where its page stands in the site."""
        return f"certificates/{self.name}.html"


@dataclass(frozen=True, slots=True)
class Line:
    """One asset of one customer with all its certificates, the latest visit first."""

    certificates: tuple[Listed, ...]

    @property
    def latest(self) -> Listed:
        """The certificate of the latest visit of those that count; the latest at all where none does."""
        return next((one for one in self.certificates if one.counts), self.certificates[0])

    @property
    def visits(self) -> tuple[Listed, ...]:
        """The certificates that count and whose files are still there, the earliest visit first."""
        found = (one for one in self.certificates if one.counts and one.kept)
        return tuple(sorted(found, key=lambda one: (one.certificate.started, one.sequence)))

    @property
    def page(self) -> str:
        """Where its page stands in the site; the same whatever else the register holds."""
        one = self.latest.certificate
        digest = sha256("\n".join(_identity(one)).encode()).hexdigest()[:8]
        plain = re.sub(r"[^a-z0-9]+", "-", key(one.asset)).strip("-")[:40]
        return f"lines/{'-'.join(part for part in (plain, digest) if part)}.html"


@dataclass(frozen=True, slots=True)
class Holdings:
    """Certificates, the latest issued first; lines in the order of their names; where the register ended."""

    certificates: tuple[Listed, ...]
    lines: tuple[Line, ...]
    head: Head


def holdings(register: Register, wanted: Wanted, head: Head) -> Holdings:
    """Return what a register held of what is wanted when it ended at that head."""
    found = [_listed(one) for one in kept(register, wanted, head.count)]
    latest_first = sorted(found, key=lambda one: (one.certificate.issued, one.sequence), reverse=True)
    return Holdings(tuple(latest_first), tuple(_lines(found)), head)


def _listed(one: Kept) -> Listed:
    sequence = one.body["sequence"]
    assert isinstance(sequence, int)  # noqa: S101  # as every entry is written
    return Listed(
        sequence=sequence,
        recorded=str(one.body["recorded"]),
        certificate=certificate_of(one.body),
        name=pdf_name(one).removesuffix(".pdf"),
        sha256=one.digests,
        replaced_by=one.replaced_by,
        signed=str(one.signatures[-1]["recorded"]) if one.signatures else None,
        marks=tuple((str(mark["kind"]), str(mark["reason"])) for mark in one.marks),
    )


def _lines(found: Sequence[Listed]) -> list[Line]:
    by_line: dict[tuple[str, str], list[Listed]] = {}
    for one in found:
        by_line.setdefault(_identity(one.certificate), []).append(one)
    made = [Line(tuple(sorted(each, key=_age, reverse=True))) for each in by_line.values()]
    return sorted(made, key=lambda line: (key(line.latest.certificate.line), line.page))


def _identity(one: Certificate) -> tuple[str, str]:
    return key(one.customer), key(one.asset)


def _age(one: Listed) -> tuple[str, str, int, int]:
    """In the order in which the register tells which certificate of a line is the latest one."""
    said = one.certificate
    return said.finished, said.issued, said.revision, one.sequence
