"""What a site shows of a register: certificates, their lines, and when each is due for what reason."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from typing import Any, Literal

from certgen.errors import CertgenError
from certgen.network.solution import solve_survey
from certgen.register.entries import (
    DISPOSED,
    RESULTS,
    SURVEY,
    WITHDRAWN,
    Certificate,
    Head,
    certificate_of,
    key,
)
from certgen.register.export import pdf_name
from certgen.register.find import Kept, Wanted, kept
from certgen.register.line_visits import recorded_survey
from certgen.register.register import Register
from certgen.survey import accept, read_bytes
from certgen.survey.quantities import Every
from certgen.survey.survey import Survey
from certgen.visits.trend import Trend, trend

Because = Literal["certificate", "trend", "interval"]


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


@dataclass(frozen=True)
class Told:
    """By when to survey a line next, and because of what; its trend, or `why` there is none.

    `due` is the earliest of what the certificate of the latest visit asks for, what the trend says, and the
    interval; None where no certificate of the line counts. `why` is None where there are fewer than two.
    """

    due: date | None
    because: Because
    trend: Trend | None
    why: CertgenError | None = None

    def is_overdue(self, on: date) -> bool:
        """Return whether the line is to be surveyed on that day or was to be before."""
        return self.due is not None and self.due <= on


def told(register: Register, line: Line, interval: Every) -> Told:
    """Return what is to be said of a line, its trend worked out anew from the surveys recorded."""
    found, why = None, None
    try:
        if len(line.visits) < 2:
            found = None
        else:
            found = trend([solve_survey(_survey(register, one)) for one in line.visits])
    except CertgenError as error:  # one line without an answer does not stop the others
        why = error
    if not line.latest.counts:
        return Told(None, "interval", found, why)
    days: dict[Because, date | None] = {
        "certificate": _asked_for(register, line.latest),
        "trend": None if found is None else found.next_survey.day,
        "interval": interval.after(date.fromisoformat(line.latest.certificate.finished)),
    }
    day, because = min((day, because) for because, day in days.items() if day is not None)
    return Told(day, because, found, why)


def _asked_for(register: Register, one: Listed) -> date | None:
    """The day by which the survey of a certificate asks for the next one, None where it does not."""
    if not one.kept:
        return None
    try:
        visit: Any = _survey(register, one).visit
    except CertgenError:  # one that today's certgen refuses, or of a newer one
        return None
    stated = None if visit.interval is None else visit.interval.after(visit.finished)
    asked = getattr(getattr(visit, "next", None), "by", None)
    return min((day for day in (stated, asked) if day is not None), default=None)


def _survey(register: Register, one: Listed) -> Survey:
    """The survey of a certificate, read by the edition of the rules that its results record."""
    name = f"certificate {one.certificate.number}"
    files = register.files([one.sha256[SURVEY], one.sha256[RESULTS]])
    survey, edition = recorded_survey(files[one.sha256[SURVEY]], files[one.sha256[RESULTS]])
    return accept(name, read_bytes(name, survey, edition))


@dataclass(frozen=True, slots=True)
class LineDue:
    """A line that is to be surveyed again, the certificate of its last survey, by when and because of what.

    `because` is "certificate" where its survey asks for that day, "trend" or "interval".
    """

    line: str
    asset: str
    customer: str
    number: str
    revision: int
    surveyed: str
    due: str
    because: str


def followed(register: Register, head: Head | None = None) -> tuple[Line, ...]:
    """Return the lines of a register, up to where it ended at `head`, which some certificate counts for.

    A line is one asset of one customer.
    """
    found = holdings(register, Wanted(), head or register.head()).lines
    return tuple(line for line in found if line.latest.counts)


def line_due(register: Register, line: Line, interval: Every) -> LineDue:
    """Return by when a line is to be surveyed again; its trend is worked out anew for that."""
    found, one = told(register, line, interval), line.latest.certificate
    named = (one.line, one.asset, one.customer, one.number, one.revision, one.finished)
    return LineDue(*named, due=f"{found.due}", because=found.because)


def in_order(found: Iterable[LineDue], on: date) -> list[LineDue]:
    """Return the lines that are due on that day or were due before, the longest overdue first."""
    return sorted((one for one in found if one.due <= f"{on}"), key=lambda one: (one.due, one.line))


def lines_due(register: Register, on: date, interval: Every) -> list[LineDue]:
    """Return the lines whose next survey is due on that day or was due before, the longest overdue first."""
    return in_order((line_due(register, line, interval) for line in followed(register)), on)
