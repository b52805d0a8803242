"""The entries of a register: what each kind of them says, in the form that the chain over them covers.

An entry is text in the canonical form of JSON (RFC 8785), its digest the SHA-256 (FIPS 180-4) of the digest
before it, a line feed and that text. Whoever knows the last digest and the count can tell whether anything
before it was changed, removed or reordered.
"""

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from datetime import date
from functools import lru_cache
from hashlib import sha256
from typing import Any
from unicodedata import category, normalize

from certgen import __version__

_CANONICAL = json.JSONEncoder(ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)
GENESIS = "0" * 64
_WRITTEN = re.compile(r"(\d{1,15}):([0-9a-f]{16,64})", re.ASCII)
Json = dict[str, object]

PDF, SURVEY, RESULTS = "certificate.pdf", "survey.yaml", "results.json"
FILE_NAMES = (PDF, SURVEY, RESULTS)
_LARGEST = 10**15  # a longer row of digits at the end of a number is no count
_DIGITS = "0123456789"
_WORD = re.compile(r"[^\s,;:/()\"'«»„“”‘’]+")
_REVISION_ONLY = re.compile(r"(?:[\s,;:/(]+[^\W\d]+\.?)?(?:[\s,;:/(]*[0-9]{1,15})?\)?")
_MOST_WORDS = 20  # further ones are no part of a number
CERTIFICATE, RESERVATION, SIGNATURE = "certificate", "reservation", "signature"
WITHDRAWN, NOTE, DISPOSED = "withdrawn", "note", "disposed"
MARKING = (WITHDRAWN, NOTE, DISPOSED)
KEPT_AT_LEAST = 365  # days from the day of issue and from that of recording, before bytes may go
UNPRINTED = "results verified, pages not compared"


@dataclass(frozen=True, slots=True)
class Head:
    """Where a register ends: how many entries it has, and the digest of the last one."""

    count: int
    digest: str

    def __str__(self) -> str:
        return f"{self.count}:{self.digest}"


EMPTY = Head(0, GENESIS)


def canonical(body: Mapping[str, object]) -> str:
    """Return the canonical form; the values are texts, whole numbers, null, and lists and groups of them."""
    return _CANONICAL.encode(body)


def chained(previous: str, text: str) -> str:
    """Return the digest of an entry that follows the digest `previous`."""
    return sha256(f"{previous}\n{text}".encode()).hexdigest()


def written_head(text: str) -> tuple[int, str] | None:
    """Return count and digest of a head as it was written down, `12:ab34...`; None where it is none.

    The end of the digest may be missing, down to 16 digits: 64 bits, which nobody finds a second chain for.
    """
    found = _WRITTEN.fullmatch(text.strip().lower())
    return None if found is None else (int(found[1]), found[2])


@dataclass(frozen=True, slots=True)
class Used:
    """An instrument the survey was made with, and the calibration it had then; days as YYYY-MM-DD."""

    kind: str
    serial: str
    calibrated: str
    due: str
    traceable_to: str


_USED = tuple(each.name for each in fields(Used))


@dataclass(frozen=True, slots=True)
class Certificate:
    """What identifies a certificate and what it says in short; days as YYYY-MM-DD."""

    number: str
    revision: int
    issued: str
    started: str
    finished: str
    line: str
    asset: str
    location: str
    customer: str
    order: str
    contractor: str
    decision: str
    as_found: str
    as_left: str
    instruments: tuple[Used, ...]
    supersedes: str | None = None
    reason: str | None = None
    surveyed_by: str | None = None
    approved_by: str | None = None


@dataclass(frozen=True, slots=True)
class Held:
    """A certificate with its files: exact bytes of the PDF, of its survey and of its results.

    `signed_by` are the names in its signatures; `unprinted` is set where somebody took it although its pages
    could not be printed anew and compared.
    """

    certificate: Certificate
    files: Mapping[str, bytes]
    signed_by: tuple[str, ...] = ()
    unprinted: bool = False

    def digests(self) -> dict[str, str]:
        """Return the SHA-256 of every file by its name."""
        return {name: sha256(data).hexdigest() for name, data in self.files.items()}


def certificate_of(body: Mapping[str, object]) -> Certificate:
    """Return the certificate an entry speaks of; KeyError, TypeError or ValueError where it does not."""
    said = body["certificate"]
    if not isinstance(said, dict):
        raise TypeError("an entry without a certificate")
    used = tuple(Used(**each) for each in said["instruments"])
    return Certificate(**{**said, "instruments": used})


def said_of(body: Mapping[str, object]) -> Mapping[str, Any]:
    """Return what the entry of a certificate says of it, as it stands there."""
    said = body["certificate"]
    assert isinstance(said, Mapping)  # noqa: S101  # entries of certificates only
    return said


def digest_of(body: Mapping[str, object], name: str) -> str:
    """Return the SHA-256 of the file of that name in the entry of a certificate."""
    digests = body["sha256"]
    assert isinstance(digests, Mapping)  # noqa: S101  # every entry of a certificate has them
    return str(digests[name])


def certificate_row(sequence: int, one: Certificate, digests: Mapping[str, str]) -> Json:
    """Return the row by which a certificate is found."""
    prefix, value = counted(one.number)
    plain = ("number", "revision", "issued", "started", "finished", "line", "asset", "customer")
    row: Json = {name: getattr(one, name) for name in (*plain, "as_found", "as_left")}
    row |= {f"{name}_key": key(getattr(one, name)) for name in ("line", "asset", "customer")}
    row |= {f"{name.partition('.')[2] if name == PDF else name.partition('.')[0]}_sha256": digests[name]
            for name in FILE_NAMES}  # fmt: skip
    return {**row, "sequence": sequence, "prefix": prefix, "value": value, "words": words_of(one)}


def instrument_rows(sequence: int, one: Certificate) -> list[Json]:
    """Return the rows by which instruments are found."""
    return [
        {
            **{name: getattr(used, name) for name in _USED},  # asdict is slow, and an audit makes many rows
            "sequence": sequence,
            "place": place,
            "serial_key": key(used.serial),
        }
        for place, used in enumerate(one.instruments)
    ]


def signature_row(body: Mapping[str, Any]) -> Json:
    """Return the row by which the signed form of a certificate is found."""
    of, digests = body["of"], body["sha256"]
    return {"sequence": body["sequence"], "certificate": of["sequence"], "pdf_sha256": digests[PDF]}


def reservation_row(sequence: int, number: str) -> Json:
    """Return the row by which the next number is found."""
    prefix, value = counted(number)
    return {"sequence": sequence, "number": number, "prefix": prefix, "value": value}


def counted(number: str) -> tuple[str, int | None]:
    """Return a certificate number as what it begins with and the count at its end, None where it has none."""
    prefix = number.rstrip(_DIGITS)
    digits = number[len(prefix) :]
    return prefix, int(digits) if digits and int(digits) < _LARGEST else None


@lru_cache(4096)  # names of lines and customers come again and again
def key(text: str) -> str:
    """Return a text as it is compared: capitals, accents and white space do not count (Unicode 15, NFD)."""
    if text.isascii():
        return " ".join(text.lower().split())
    parted = normalize("NFD", normalize("NFD", text).casefold())
    return " ".join("".join(letter for letter in parted if category(letter)[0] != "M").split())


def words_of(one: Certificate) -> str:
    """Return every text by which a certificate is found, as they are compared, each in a line of its own."""
    named = (one.number, one.line, one.asset, one.location, one.customer, one.order, one.contractor)
    used = [part for each in one.instruments for part in (each.kind, each.serial)]
    return "\n".join(map(key, (*named, *used)))


def says_of_another(one: Certificate) -> bool:
    """Return whether a certificate may say that it replaces one of another number; a first issue never does.

    Nearly all revisions name no more than an earlier one of their own number.
    """
    if not one.revision or not one.supersedes:
        return False
    text = " ".join(one.supersedes.split())
    return not (text.startswith(one.number) and _REVISION_ONLY.fullmatch(text, len(one.number)))


def parts(said: str) -> tuple[str, ...]:
    """Return what in the text may be a number: runs of its words, the longest first."""
    text = " ".join(said.split())
    words = [word.span() for word in _WORD.finditer(text)][:_MOST_WORDS]
    spans = [(first, last) for at, (first, _) in enumerate(words) for _, last in words[at:]]
    spans.sort(key=lambda span: span[0] - span[1])
    return tuple(text[first:last] for first, last in spans)


@dataclass(frozen=True, slots=True)
class By:
    """Who writes into a register, as the machine they write from claims it."""

    user: str = "not known"
    host: str = "not known"
    certgen: str = __version__


@dataclass(frozen=True, slots=True)
class Frame:
    """What every entry begins with: its place, when it was recorded (UTC, to the second), by whom.

    `clock` is what the clock of the writer said, where it stood before the entry that came last.
    """

    sequence: int
    recorded: str
    by: By
    clock: str | None = None

    def of(self, kind: str) -> Json:
        """Return the beginning of an entry of that kind."""
        late: Json = {} if self.clock is None else {"clock": self.clock}
        return {
            "kind": kind,
            "sequence": self.sequence,
            "recorded": self.recorded,
            "by": asdict(self.by),
            **late,
        }


def certificate_body(frame: Frame, held: Held) -> Json:
    """Return the entry of a certificate."""
    said = asdict(held.certificate)
    said["instruments"] = list(said["instruments"])
    taken: Json = {"accepted": UNPRINTED} if held.unprinted else {}
    signed = {"signed_by": list(held.signed_by)}
    return {**frame.of(CERTIFICATE), "certificate": said, "sha256": held.digests(), **signed, **taken}


def reservation_body(frame: Frame, number: str) -> Json:
    """Return the entry of a number handed out."""
    return {**frame.of(RESERVATION), "number": number}


def signature_body(frame: Frame, of: Json, digest: str, signed_by: Sequence[str]) -> Json:
    """Return the entry of a certificate that was signed after it had been recorded.

    `of` names it by `sequence`, `number` and `revision`; the PDF begins with the bytes recorded before.
    """
    return {**frame.of(SIGNATURE), "of": of, "sha256": {PDF: digest}, "signed_by": list(signed_by)}


def withdrawn_body(frame: Frame, of: Json, reason: str) -> Json:
    """Return the entry that says of a certificate that it was recorded in error."""
    return {**frame.of(WITHDRAWN), "of": of, "reason": reason}


def note_body(frame: Frame, instrument: str, touched: Sequence[Json], reason: str) -> Json:
    """Return the entry that says that an instrument, named by its serial number, was found to deviate.

    `touched` are the certificates that rely on it, each by `sequence`, `number` and `revision`.
    """
    return {**frame.of(NOTE), "instrument": instrument, "touches": list(touched), "reason": reason}


def disposed_body(frame: Frame, of: Json, removed: Sequence[str], reason: str) -> Json:
    """Return the entry that says that a certificate was kept long enough and its bytes are gone.

    `removed` are the SHA-256 of the files removed: those that no certificate needs that is still kept.
    """
    return {**frame.of(DISPOSED), "of": of, "removed": sorted(removed), "reason": reason}


def kept_long_enough(issued: str, recorded: str, when: str) -> bool:
    """Tell whether a certificate issued and recorded then was kept for `KEPT_AT_LEAST` days at `when`.

    All begin with a day, YYYY-MM-DD. ValueError where one is none.
    """
    last = max(date.fromisoformat(issued[:10]), date.fromisoformat(recorded[:10]))
    return (date.fromisoformat(when[:10]) - last).days >= KEPT_AT_LEAST


def marked(body: Json) -> list[Any]:
    """Return the certificates that an entry of a marking kind speaks of, as they are named in it."""
    return list(body["touches"]) if body["kind"] == NOTE else [body["of"]]  # type: ignore[call-overload]  # JSON
